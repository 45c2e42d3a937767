"""Heat, salt, water and lightning at each site."""

from collections.abc import Iterable, Iterator
from typing import Any

from backhaul.checks.context import Context, on_row
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.path.links import COPPER, FEED, Link
from backhaul.path.placed import Placed
from backhaul.path.routes import joins_buildings, route_of
from backhaul.physics.environment import OUTDOOR_IP, corrosivity_rank, ip_meets
from backhaul.units import DECIMALS
from backhaul.wording import whole_against

#: Cords in a channel, both ends together [m]: TIA-568.2-D, ISO/IEC 11801-1.
CORDS_M = 10.0


def _on(placed: Placed, check: str, severity: str, message: str, **details) -> Finding:
    finding = on_row(
        check, severity, placed.row, placed.column, message, paths=placed.paths, **details
    )
    return finding._replace(rows=placed.row_ids)


def temperature(context: Context) -> Iterator[Finding]:
    """temperature: equipment, optics and cable against the coldest and warmest of their site."""
    for placed in context.placed:
        record = placed.record
        low, high = getattr(record, "temp_min_c", None), getattr(record, "temp_max_c", None)
        if low is None and high is None:
            continue
        for site in placed.sites:
            rise = placed.case_rise_c(site)
            if (
                high is not None
                and site.ambient_max_c is not None
                and (round(site.ambient_max_c + rise, DECIMALS) > high)
            ):
                reached, rated = whole_against(site.ambient_max_c + rise, high)
                yield _on(
                    placed,
                    "temperature",
                    FAIL,
                    f"{record.part} is rated to {rated} °C, {_what_is_warm(placed, site)} reaches "
                    f"{reached} °C"
                    f"{_made_of(placed, site)}",
                    remedy="use a part of a wider temperature class, shade or "
                    "ventilate the enclosure",
                    value=site.ambient_max_c + rise,
                    limit=high,
                    unit="°C",
                    shared=f"heat of {site.site}",
                )
            if low is not None and site.ambient_min_c is not None and site.ambient_min_c < low:
                reached, rated = whole_against(site.ambient_min_c, low)
                yield _on(
                    placed,
                    "temperature",
                    FAIL,
                    f"{record.part} is rated from {rated} °C, {site.site} falls to {reached} °C",
                    remedy="use a part of a wider temperature class, or heat the enclosure",
                    value=site.ambient_min_c,
                    limit=low,
                    unit="°C",
                    shared=f"cold of {site.site}",
                )


def _what_is_warm(placed: Placed, site: Any) -> str:
    """What the limit holds for: an optic's case, else the air around the equipment."""
    return f"its case at {site.site}" if placed.cage_rise_c else site.site


def _made_of(placed: Placed, site: Any) -> str:
    """What the warmest air around equipment is made of, where it is more than that of the site."""
    air_c, enclosure_k = site.ambient_max_c, placed.rise_c(site)
    words = [f"air {air_c:g} °C"]
    if enclosure_k:
        inside = "enclosure" if placed.host is None else "enclosure or housing"
        words.append(f"{enclosure_k:g} K in the {inside} (enclosure_rise_c)")
    if placed.cage_rise_c:
        words.append(f"{placed.cage_rise_c:g} K in its case (cage_rise_c)")
    return f": {' + '.join(words)}" if len(words) > 1 else ""


def corrosion(context: Context) -> Iterator[Finding]:
    """corrosion: equipment rated for a milder category than its site has."""
    if not any(site.corrosivity for site in context.design.sites.values()):
        return
    for placed in context.placed:
        rated = getattr(placed.record, "corrosivity", None)
        if not rated:
            continue
        for site in placed.sites:
            if site.corrosivity and corrosivity_rank(site.corrosivity) > corrosivity_rank(rated):
                yield _on(
                    placed,
                    "corrosion",
                    THIN,
                    f"{placed.record.part} is made for {rated}, {site.site} is {site.corrosivity}",
                    remedy="choose a finish for the category, or an enclosure that keeps the air "
                    "out",
                    value=site.corrosivity,
                    limit=rated,
                    source="ISO 12944-2:2017",
                    shared=site.corrosivity,
                )


def environment(context: Context) -> Iterator[Finding]:
    """environment: below IP54 outdoors, indoor cable outdoors."""
    for placed in context.placed:
        record, row = placed.record, placed.row
        if KINDS[row.kind].is_run:
            yield from _jacket(context, placed)
            yield from _build(placed)
            continue
        outdoors = [site for site in placed.sites if site.outdoor]
        if not outdoors:
            continue
        name = outdoors[0].site
        code = getattr(record, "ip_code", None)
        if code and ip_meets(rated=code, needed=OUTDOOR_IP) is False:
            yield _on(
                placed,
                "environment",
                THIN,
                f"{record.part} is {code}, outdoors at {name}",
                remedy=f"choose one of {OUTDOOR_IP} or better, or put it in an enclosure: in the "
                "tables a site of its own with outdoor = no",
                value=code,
                limit=OUTDOOR_IP,
                source="IEC 60529; common practice",
                shared=f"{name} is outdoors",
            )


def _is_told_outdoor(context: Context, row: Segment) -> bool:
    """Whether a run is outdoors, where its route or a sites table says so.

    Without either the order list reckons with it, and a note says that nothing was judged.
    """
    return context.is_outdoor(row) and bool(row.route or context.design.sites)


def _jacket(context: Context, placed: Placed) -> Iterator[Finding]:
    """Indoor cable on a run that lies outdoors."""
    row, record = placed.row, placed.record
    if record.outdoor is not False or not _is_told_outdoor(context, row):
        return
    route = route_of(row, context.network, context.design.sites)
    start, end = context.network.places[row.id]
    where = f"between {start} and {end}" if start != end else f"at {start}"
    yield _on(
        placed,
        "environment",
        THIN,
        f"{record.part} is indoor cable, outdoors {where} ({route})",
        remedy="use outdoor cable; write route = indoor where it stays inside one building or "
        "enclosure",
        limit=route,
        shared=record.part,
    )


#: Routes that a cable has to be built for: armour in the ground, a strength member in the air.
_BUILT_FOR = ("buried", "aerial")


def _build(placed: Placed) -> Iterator[Finding]:
    """Cable on a route, typed, that it is not built for."""
    row, record = placed.row, placed.record
    routes = getattr(record, "routes", ())
    if row.route not in _BUILT_FOR or not routes or row.route in routes:
        return
    yield _on(
        placed,
        "environment",
        THIN,
        f"{record.part} is built to lie {_either(routes)}, the run is {row.route}",
        remedy=f"use cable built to lie {row.route}, or write the route as it is laid",
        limit=row.route,
        source="IEC 60794-3-10, -3-20, -5-10: duct and buried, aerial, microduct cable; from memory",
        shared=f"{record.part} {row.route}",
    )


def _either(words: Iterable[str]) -> str:
    """Words of which one holds.

    >>> _either(["buried", "duct", "surface"])
    'buried, duct or surface'
    """
    *first, last = words
    return f"{', '.join(first)} or {last}" if first else last


def surge(context: Context) -> Iterator[Finding]:
    """surge: copper and feeds that go outdoors want a protector next to the run at each end."""
    for kind in (COPPER, FEED):
        for link in context.network.links[kind]:
            sections = _sections(link)
            tails = [not section or _is_tail(context, section) for section in sections]
            for index, section in enumerate(sections):
                missing = [
                    end
                    for end, is_open in (("first", index == 0), ("far", index + 1 == len(sections)))
                    if is_open
                ]
                # cords between a protector and their equipment, beside a run that is protected
                if len(missing) == 1 and tails[index] and not all(tails):
                    continue
                outdoors = [row for row in section if _is_told_outdoor(context, row)]
                if missing and outdoors:
                    yield on_row(
                        "surge",
                        THIN,
                        outdoors[0],
                        "part",
                        f"outdoor {outdoors[0].kind} with no surge protector at "
                        + ("either end" if len(missing) == 2 else f"its {missing[0]} end"),
                        paths=link.paths,
                        remedy="add a protector row beside the run at each end, bonded to the "
                        "local earth; fiber needs none",
                        source="IEC 61643-21, IEC 62305-4 (to be confirmed)",
                        shared="outdoors",
                    )
                yield from _run_before_protector(context, link, section, index, len(sections))


def _run_before_protector(
    context: Context, link: Link, section: list[Segment], index: int, count: int
) -> Iterator[Finding]:
    """A protector that stands not beside the outdoor run but further in, behind an indoor one."""
    between = (
        [
            row
            for row, is_guarded in ((section[0], index > 0), (section[-1], index + 1 < count))
            if is_guarded and not _is_told_outdoor(context, row)
        ]
        if any(_is_told_outdoor(context, row) for row in section)
        else []
    )
    for row in between[:1]:
        outdoors = next(row for row in section if _is_told_outdoor(context, row))
        yield on_row(
            "surge",
            THIN,
            row,
            "part",
            f"{row.part} lies between the surge protector and the outdoor {outdoors.kind}: what "
            "that picks up comes in",
            paths=link.paths,
            remedy="put the protector beside the outdoor run, where it enters",
            source="IEC 61643-22, IEC 62305-4 (to be confirmed)",
            shared="between",
        )


def _sections(link) -> list[list[Segment]]:
    """Runs of a link between its protectors; an empty one where a protector stands at an end."""
    sections: list[list[Segment]] = [[]]
    for row in link.rows:
        if KINDS[row.kind].protects:
            sections.append([])
        else:
            sections[-1].append(row)
    return sections


def _is_tail(context: Context, section: list[Segment]) -> bool:
    """Cords at one site, no longer than a channel has: between a protector and its equipment."""
    sites = {site for row in section for site in context.network.places[row.id]}
    return len(sites) == 1 and sum(row.length_m or 0.0 for row in section) <= CORDS_M


def earth_potentials(context: Context) -> Iterator[Finding]:
    """safety: copper between two buildings joins two earths."""
    found = [
        link
        for link in context.network.links[COPPER]
        if any(
            KINDS[row.kind].is_run and joins_buildings(row, context.network, context.design.sites)
            for row in link.rows
        )
    ]
    for link in found:
        row = next(
            row
            for row in link.rows
            if KINDS[row.kind].is_run
            and joins_buildings(row, context.network, context.design.sites)
        )
        start, end = context.network.places[row.id]
        yield on_row(
            "safety",
            CAUTION,
            row,
            "part",
            f"copper joins two earths ({start}, {end}): screen current, surges at both",
            paths=link.paths,
            remedy="go on in fiber, or bond both earths; local codes and licensed practice decide",
            source="IEC 60364-5-54, IEC 61000-5-2 (to be confirmed)",
        )


def not_judged(context: Context) -> Iterator[Finding]:
    """assumption: without a sites table nothing is known of heat, weather and lightning."""
    rows = context.design.segments
    if context.design.sites or not rows:
        return
    yield on_row(
        "assumption",
        NOTE,
        rows[0],
        "site",
        "no sites table: temperature, corrosion, protection against water, surges and lengths over "
        "ground were not judged, cables are taken at 20 °C",
        remedy="add the sites table",
    )
