"""What wind does to a hop: dishes that are pushed. Cautions, no design."""

from collections.abc import Iterator

from backhaul.checks.context import Context, on_link
from backhaul.findings import CAUTION, Finding
from backhaul.physics import antennas

DEFERS = "a structural engineer decides on pole, mast and fixings; local codes apply"


def mast(context: Context) -> Iterator[Finding]:
    """safety: wind force by wind_m_s at the ends of a hop."""
    hops = context.radio.hops
    seen: set[tuple] = set()
    for index, link in enumerate(context.radio.links):
        sites = hops.site_pairs[index]
        for end, site in enumerate(sites):
            if site is not None and site.wind_m_s:
                equipment = (link.near, link.far)[end]
                if equipment is not None and equipment.key in seen:
                    continue  # the antenna of a hub stands once
                if equipment is not None:
                    seen.add(equipment.key)
                yield from _wind(hops, index, link, site, end)


def _wind(hops, index: int, link, site, end: int) -> Iterator[Finding]:
    diameter = hops.diameter_m[index, end]
    if not diameter > 0:
        return
    force = float(antennas.wind_force_n(wind_m_s=site.wind_m_s, diameter_m=diameter))
    arm = link.rows[0].height_m if end == 0 else link.rows[0].to_height_m
    moment = f", {force * arm / 1000:.1f} kNm about the foot {arm:g} m below" if arm else ""
    yield on_link(
        "safety",
        CAUTION,
        link,
        link.rows[0],
        "height_m" if end == 0 else "to_height_m",
        f"wind {site.wind_m_s:g} m/s on the dish at {site.site}: {force:.0f} N{moment}; plus ice "
        "and mounts",
        remedy=DEFERS,
        value=force,
        unit="N",
        source="drag 1.4, air 1.25 kg/m3 as in EN 1991-1-4 (to be confirmed)",
    )
