"""The rule of the band: may this hop send here, and with this power. Local rules decide."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.checks.band_rows import (
    not_to_one_point,
    rows_for,
    takes_licence,
    ways_to_take,
    why_none_takes,
)
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.path.ends import HopDirection
from backhaul.physics.free_space import conducted_limit_dbm
from backhaul.units import DECIMALS, MHZ_PER_GHZ
from backhaul.wording import against

LICENCE = "eirp_limit_dbm of the row"
#: Ends the note of every rule in the catalogue; what stands before it is the rule's own condition.
COMMON_NOTE = "national rules decide and change: check them"
#: Weather radars: EN 301 893 sets a longer check of the channel there (from memory).
WEATHER_RADAR_GHZ = (5.6, 5.65)
#: Width of a channel that is not known, for limits by spectral density [MHz].
NARROW_MHZ = 1.0


class Judged(NamedTuple):
    """How a rule of the band judges one direction of a hop."""

    rule: str
    limit_dbm: float
    eirp_dbm: float
    #: the antenna has the gain that the rule asks for
    gain_ok: bool
    #: row of bands.csv, None where a licence sets the limit
    record: Any
    #: rows that the channel lies in besides, each with conditions of its own
    besides: tuple[Any, ...] = ()

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
    return judge_all(context, (direction,))[0]


def judge_all(context: Context, directions: tuple[int, ...] | None = None) -> list[list[Judged]]:
    """Every rule that covers the channel of each direction, all directions if None.

    A licence stands before the bands. A direction whose frequency is not known has no rule.
    """
    radio = context.radio
    columns = [radio.values[key].tolist() for key in ("tx_gain_dbi", "eirp_dbm", "frequency_ghz")]
    widths = np.repeat(radio.hops.channel_mhz, 2).tolist()
    bands: dict[bool, list[Any]] = {}
    covering: dict[tuple, list] = {}
    limits: dict[tuple, float] = {}
    found = []
    for direction in range(len(widths)) if directions is None else directions:
        gain, eirp, ghz = (column[direction] for column in columns)
        width = widths[direction]
        way = radio.hops.directions[direction]
        row, licensed = way.row, takes_licence(way.sender.radio)
        if row.eirp_limit_dbm is not None:
            found.append([Judged(LICENCE, row.eirp_limit_dbm, eirp, True, None)])
            continue
        to_one_point = not_to_one_point(context, way) is None
        if to_one_point not in bands:
            bands[to_one_point] = rows_for(context, way)
        key = ghz, width, licensed, to_one_point
        if key not in covering:
            rows = bands[to_one_point]
            covering[key] = [] if ghz != ghz else ways_to_take(rows, ghz, width, licensed)
        found.append([_strictest(pieces, gain, eirp, width, limits) for pieces in covering[key]])
    return found


def _strictest(pieces, gain: float, eirp: float, width: float, limits: dict) -> Judged:
    """The rule of a channel that lies in one row; over a border, the strictest of its pieces.

    pieces: for each piece of the channel the rows that take it, of which the best counts.
    """
    best = []
    for rows in pieces:
        judged = []
        for band in rows:
            key = (band.part, gain, width)
            if key not in limits:
                limits[key] = eirp_limit_dbm(
                    band, gain_dbi=gain, channel_mhz=width if width == width else NARROW_MHZ
                )
            gain_ok = band.gain_min_dbi is None or not gain < band.gain_min_dbi
            judged.append(Judged(band.rule, limits[key], eirp, gain_ok, band))
        best.append(ruling(judged))
    strictest = min(best, key=lambda rule: (rule.gain_ok, rule.limit_dbm))
    besides = tuple(rule.record for rule in best if rule is not strictest)
    return strictest._replace(besides=besides)


def excess_at_db(context: Context, hop: int, ghz: float) -> float:
    """How far a hop would be above what a rule allows at another frequency, the worse of its ends
    [dB]; infinite where no rule takes its channel or its antenna, below 0 where it is allowed."""
    radio, region = context.radio, context.design.project.region
    worst = -float("inf")
    for way in radio.hops.directions[2 * hop : 2 * hop + 2]:
        gain, eirp, width = (
            float(radio.values[key][way.place])
            for key in ("tx_gain_dbi", "eirp_dbm", "channel_mhz")
        )
        if way.row.eirp_limit_dbm is not None:
            worst = max(worst, eirp - way.row.eirp_limit_dbm)
        elif region is not None:
            ways = ways_to_take(rows_for(context, way), ghz, width, takes_licence(way.sender.radio))
            best = ruling([_strictest(pieces, gain, eirp, width, {}) for pieces in ways])
            if best is None or not best.gain_ok:
                return float("inf")
            worst = max(worst, eirp - best.limit_dbm)
    return worst


def ruling(judged: list[Judged]) -> Judged | None:
    """The rule that allows with the most to spare, else the one that comes nearest."""
    pool = (
        [rule for rule in judged if rule.allows]
        or [rule for rule in judged if rule.gain_ok]
        or judged
    )
    return max(pool, key=lambda rule: rule.limit_dbm, default=None)


def radio_band(context: Context) -> Iterator[Finding]:
    """radio-band and radio-eirp: the channel inside a band, the power inside its rule."""
    region = context.design.project.region
    rules = judge_all(context)
    for index, link in enumerate(context.radio.links):
        row = link.rows[0]
        if region is None and row.eirp_limit_dbm is None:
            yield on_link(
                "assumption",
                NOTE,
                link,
                row,
                "frequency_ghz",
                "no region is given: the rule of the band was not checked; local rules decide",
                remedy="set region in project, or eirp_limit_dbm from the licence",
            )
            continue
        conditions = list(_weather_radar(context, index))
        for way in context.radio.hops.directions[2 * index : 2 * index + 2]:
            judged = rules[way.place]
            findings = list(_refused(context, way, judged))
            yield from findings
            if not findings and judged:
                conditions += _conditions(ruling(judged))
        for condition in dict.fromkeys(filter(None, conditions)):
            yield on_link(
                "assumption",
                NOTE,
                link,
                row,
                "frequency_ghz",
                condition,
                remedy="see to it that the hop meets it; local rules decide",
            )


def _weather_radar(context: Context, index: int) -> Iterator[str]:
    """A channel of a licence-free radio among the weather radars."""
    hops = context.radio.hops
    half = np.nan_to_num(hops.channel_mhz[index]) / 2 / MHZ_PER_GHZ
    low, high = WEATHER_RADAR_GHZ
    ghz = hops.frequency_ghz[index]
    if hops.rows[index].eirp_limit_dbm is None and ((ghz + half > low) & (ghz - half < high)).any():
        yield (
            f"the channel touches {low:g} to {high:g} GHz, where weather radars work: a radio with "
            "radar detection listens there for ten minutes before it sends, and some countries "
            "close the range"
        )


def _conditions(rule: Judged) -> Iterator[str]:
    """What the rules that allow the hop ask for beyond channel, power and gain."""
    for record in filter(None, (rule.record, *rule.besides)):
        own = (record.note or "").replace(COMMON_NOTE, "").strip(" ;,.")
        if own:
            yield f"{record.rule} allows it, and says: {own}"


def _refused(context: Context, way: HopDirection, rules: list[Judged]) -> Iterator[Finding]:
    radio, direction, link, row = context.radio, way.place, way.link, way.row
    ghz, width = (float(radio.values[key][direction]) for key in ("frequency_ghz", "channel_mhz"))
    if np.isnan(ghz):
        return
    site, column = way.sender.site_name, way.sender.column("frequency_ghz")
    if not rules:
        if way.sender.is_far and ghz == radio.values["frequency_ghz"][way.back]:
            return  # said of the other end
        yield on_link(
            "radio-band",
            FAIL,
            link,
            row,
            column,
            why_none_takes(context, way, ghz, width),
            remedy="choose a channel inside a band that is open to the radio, or type "
            "eirp_limit_dbm from a licence; local rules decide",
            value=ghz,
            unit="GHz",
            source="bands.csv",
        )
        return
    eirp = rules[0].eirp_dbm
    if eirp != eirp or any(rule.allows for rule in rules):
        return
    best = ruling(rules)
    if not best.gain_ok:
        least = min(rule.record.gain_min_dbi for rule in rules)
        gain = radio.values["tx_gain_dbi"][direction]
        has, asked = against(gain, least)
        yield on_link(
            "radio-band",
            FAIL,
            link,
            row,
            "antenna",
            f"the antenna at {site} has {has} dBi, the rule asks for {asked} dBi or more "
            f"({best.rule})",
            remedy="use a larger antenna; local rules decide",
            value=gain,
            limit=least,
            unit="dBi",
            source=best.rule,
        )
        return
    sent, allowed = against(eirp, best.limit_dbm)
    yield on_link(
        "radio-eirp",
        FAIL,
        link,
        row,
        "tx_power_dbm",
        f"EIRP {sent} dBm at {site}, at most {allowed} dBm ({best.rule})",
        remedy=_less_power(context, direction, row, best),
        value=eirp,
        limit=best.limit_dbm,
        unit="dBm",
        source=best.rule,
    )


def _less_power(context: Context, direction: int, row, best: Judged) -> str:
    """The power that the rule allows with this antenna."""
    power = context.radio.values["tx_power_dbm"][direction] - (best.eirp_dbm - best.limit_dbm)
    return (
        f"lower the power by {np.ceil(round(10 * (best.eirp_dbm - best.limit_dbm), 6)) / 10:.1f} "
        f"dB (tx_power_dbm {np.floor(round(10 * power, 6)) / 10:.1f}) or use a smaller antenna; "
        "local rules decide"
    )
