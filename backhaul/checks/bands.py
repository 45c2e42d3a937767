"""The rule of the band: may this hop send here, and with this power. Local rules decide."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.physics.free_space import conducted_limit_dbm

DECIMALS = 6
LICENCE = "eirp_limit_dbm of the row"


class Judged(NamedTuple):
    """How a rule of the band judges one direction of a hop."""

    rule: str
    limit_dbm: float
    eirp_dbm: float
    #: the antenna has the gain that the rule asks for
    gain_ok: bool
    record: Any

    @property
    def allows(self) -> bool:
        return self.gain_ok and not round(self.eirp_dbm - self.limit_dbm, DECIMALS) > 0


def eirp_limit_dbm(band: Any, *, gain_dbi: float, channel_mhz: float) -> float:
    """Highest EIRP that a row of bands.csv allows with an antenna on a channel [dBm]."""
    unlimited = float("inf")

    def known(value: float | None, blank: float) -> float:
        return blank if value is None else value

    # A density without a conducted limit is of the EIRP, as in the CEPT rules.
    density_of_eirp = band.conducted_max_dbm is None
    psd = known(band.psd_max_dbm_mhz, unlimited)
    limit = conducted_limit_dbm(
        conducted_max_dbm=known(band.conducted_max_dbm, unlimited),
        eirp_max_dbm=known(band.eirp_max_dbm, unlimited),
        psd_max_dbm_mhz=unlimited if density_of_eirp else psd,
        gain_dbi=gain_dbi,
        gain_free_dbi=known(band.gain_free_dbi, 1000.0),
        back_off_db_per_db=known(band.back_off_db_per_db, 0.0),
        channel_mhz=channel_mhz,
    )
    eirp = float(limit) + gain_dbi
    if density_of_eirp and psd != unlimited:
        eirp = min(eirp, psd + 10 * float(np.log10(channel_mhz)))
    return eirp


def judge(context: Context, direction: int) -> list[Judged]:
    """Every rule that covers the channel of one direction, in the region of the design."""
    radio = context.radio
    index = direction // 2
    row = radio.links[index].rows[0]
    gain = radio.values["tx_gain_dbi"][direction]
    eirp = radio.values["eirp_dbm"][direction]
    if row.eirp_limit_dbm is not None:
        return [Judged(LICENCE, row.eirp_limit_dbm, eirp, True, None)]
    ghz, width = radio.values["frequency_ghz"][direction], radio.hops.channel_mhz[index]
    half = 0.0 if np.isnan(width) else width / 2000
    return [
        Judged(band.rule, eirp_limit_dbm(band, gain_dbi=gain, channel_mhz=2000 * half or 1.0),
               eirp, not (band.gain_min_dbi is not None and gain < band.gain_min_dbi), band)
        for band in context.catalog.bands
        if band.region == context.design.project.region
        and band.frequency_min_ghz <= round(ghz - half, 9)
        and round(ghz + half, 9) <= band.frequency_max_ghz
    ]  # fmt: skip


def radio_band(context: Context) -> Iterator[Finding]:
    """radio-band and radio-eirp: the channel inside a band, the power inside its rule."""
    region = context.design.project.region
    for direction in range(2 * len(context.radio.links)):
        link = context.radio.links[direction // 2]
        row = link.rows[0]
        if region is None and row.eirp_limit_dbm is None:
            if direction % 2 == 0:
                yield on_link(
                    "assumption", NOTE, link, row, "frequency_ghz",
                    "no region is given: the rule of the band was not checked",
                    remedy="set region in project, or eirp_limit_dbm from the licence",
                )  # fmt: skip
            continue
        yield from _judged(context, direction, link, row, region)


def _judged(context: Context, direction: int, link, row, region) -> Iterator[Finding]:
    ghz = context.radio.values["frequency_ghz"][direction]
    eirp = context.radio.values["eirp_dbm"][direction]
    site = row.site if direction % 2 == 0 else row.to_site
    if np.isnan(ghz):
        return
    rules = judge(context, direction)
    column = "frequency_ghz" if direction % 2 == 0 else "to_frequency_ghz"
    if not rules:
        yield on_link(
            "radio-band", FAIL, link, row, column,
            f"no band of {region} in the catalogue takes a channel of "
            f"{context.radio.hops.channel_mhz[direction // 2]:g} MHz at {ghz:g} GHz",
            remedy="choose a channel inside a band, or type eirp_limit_dbm from a licence; local "
            "rules decide", value=ghz, unit="GHz", source="bands.csv",
        )  # fmt: skip
        return
    if np.isnan(eirp) or any(rule.allows for rule in rules):
        return
    with_gain = [rule for rule in rules if rule.gain_ok]
    if not with_gain:
        least = min(rule.record.gain_min_dbi for rule in rules)
        gain = context.radio.values["tx_gain_dbi"][direction]
        yield on_link(
            "radio-band", FAIL, link, row, "antenna",
            f"the antenna at {site} has {gain:.1f} dBi, the rule asks for {least:g} dBi or more "
            f"({rules[0].rule})", remedy="use a larger antenna; local rules decide", value=gain,
            limit=least, unit="dBi", source=rules[0].rule,
        )  # fmt: skip
        return
    best = max(with_gain, key=lambda rule: rule.limit_dbm)
    yield on_link(
        "radio-eirp", FAIL, link, row, "tx_power_dbm",
        f"EIRP {eirp:.1f} dBm sent from {site}, at most {best.limit_dbm:.1f} dBm ({best.rule})",
        remedy=f"lower the power by {eirp - best.limit_dbm:.1f} dB or use a smaller antenna; local "
        "rules decide", value=eirp, limit=best.limit_dbm, unit="dBm", source=best.rule,
    )  # fmt: skip
