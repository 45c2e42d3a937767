"""What wind does to a hop: beams that sway, dishes that are pushed. Cautions, no design."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.figures.arrays import number
from backhaul.findings import CAUTION, Finding
from backhaul.physics import antennas

DEFERS = "a structural engineer decides on pole, mast and fixings; local codes apply"
_PRACTICE = "common practice"


def mast(context: Context) -> Iterator[Finding]:
    """safety: pointing loss by sway_deg and wind force by wind_m_s at the ends of a hop."""
    hops = context.radio.hops
    for index, link in enumerate(context.radio.links):
        sites = hops.site_pairs[index]
        sway = [number(getattr(site, "sway_deg", None)) for site in sites]
        if any(deg == deg and deg > 0 for deg in sway):
            yield from _sway(context, index, link, sites, sway)
        for end, site in enumerate(sites):
            if site is not None and site.wind_m_s:
                yield from _wind(hops, index, link, site, end)


def pointing_loss_db(hops, index: int) -> float:
    """Loss when both masts of a hop sway at once [dB], NaN where no sway or beam is known."""
    loss = np.nan
    for end, site in enumerate(hops.site_pairs[index]):
        sway, beam = number(getattr(site, "sway_deg", None)), hops.beamwidth_deg[index, end]
        if sway == sway and beam == beam:
            own = antennas.pointing_loss_db(offset_deg=sway, beamwidth_deg=beam)
            loss = own if loss != loss else loss + own
    return float(loss)


def _sway(context: Context, index: int, link, sites, sway) -> Iterator[Finding]:
    hops = context.radio.hops
    row = link.rows[0]
    limit = antennas.RANGES["offset_per_beamwidth"][1]
    for end in (0, 1):
        beam = hops.beamwidth_deg[index, end]
        if not sway[end] > antennas.LARGEST_SWAY_PER_BEAMWIDTH * beam:
            continue
        lost = sway[end] > limit * beam
        yield on_link(
            "safety",
            CAUTION,
            link,
            row,
            "antenna" if end == 0 else "to_antenna",
            f"{sites[end].site} sways by {sway[end]:g} degrees, the beam is {beam:g} degrees wide: "
            + ("the far end drops out of the main lobe" if lost else "more than a quarter of it"),
            remedy=f"a stiffer mount (at most {antennas.LARGEST_SWAY_PER_BEAMWIDTH * beam:.2g} "
            f"degrees) or a wider beam; {DEFERS}",
            value=sway[end],
            limit=antennas.LARGEST_SWAY_PER_BEAMWIDTH * beam,
            unit="degrees",
            source=_PRACTICE,
        )
    loss = pointing_loss_db(hops, index)
    if loss == loss:
        names = " and ".join(
            f"{site.site} ({deg:g} degrees)"
            for site, deg in zip(sites, sway, strict=True)
            if deg == deg and deg > 0
        )
        yield on_link(
            "safety",
            CAUTION,
            link,
            row,
            "part",
            f"sway at {names} takes {loss:.1f} dB off the margin while it lasts; it is not in the "
            "budget",
            remedy=DEFERS,
            value=loss,
            unit="dB",
            source="12 (angle / beamwidth)^2 dB in the main lobe, common practice",
        )


def _wind(hops, index: int, link, site, end: int) -> Iterator[Finding]:
    diameter = hops.diameter_m[index, end]
    if not diameter > 0:
        return
    force = float(antennas.wind_force_n(wind_m_s=site.wind_m_s, diameter_m=diameter))
    arm = link.rows[0].height_m if end == 0 else link.rows[0].to_height_m
    moment = f", {force * arm / 1000:.1f} kNm about a pole {arm:g} m tall" if arm else ""
    yield on_link(
        "safety",
        CAUTION,
        link,
        link.rows[0],
        "height_m" if end == 0 else "to_height_m",
        f"wind of {site.wind_m_s:g} m/s pushes the {diameter:g} m dish at {site.site} with "
        f"{force:.0f} N{moment}; ice, side force and mounts come on top",
        remedy=DEFERS,
        value=force,
        unit="N",
        source="drag 1.4, air 1.25 kg/m3 as in EN 1991-1-4 (to be confirmed)",
    )
