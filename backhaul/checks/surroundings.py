"""Heat, salt, water and lightning at each site; runs too short for the ground they cross."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.cable_sections import mid_span_splices
from backhaul.budgets.orders import joints_forced
from backhaul.checks.context import Context, on_row
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import COPPER, FEED, OPTICAL
from backhaul.path.placed import Placed
from backhaul.path.routes import is_one_building, joins_buildings, route_of
from backhaul.physics.environment import OUTDOOR_IP, corrosivity_rank, ip_meets
from backhaul.physics.geometry import geodesic, sphere_distance_km
from backhaul.units import DECIMALS, M_PER_KM
from backhaul.wording import length_text

#: A run may fall short of the straight line between its sites by this much: coordinates are
#: rounded (common practice).
STRAIGHT_LINE_TOLERANCE_M = 2.0
#: A geodesic is at most so much longer than the great circle of the mean sphere: the flattening
#: of WGS 84 is 1/298.
SPHERE_TOLERANCE = 1.01
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
            case = f" in its case, {placed.cage_rise_c:g} K of its cage counted"
            if (
                high is not None
                and site.ambient_max_c is not None
                and (round(site.ambient_max_c + rise, DECIMALS) > high)
            ):
                yield _on(
                    placed,
                    "temperature",
                    FAIL,
                    f"up to {site.ambient_max_c + rise:g} °C at {site.site}"
                    f"{case if placed.cage_rise_c else ''}, {record.part} stands {high:g} °C",
                    remedy="use a part of a wider temperature class, shade or "
                    "ventilate the enclosure",
                    value=site.ambient_max_c + rise,
                    limit=high,
                    unit="°C",
                )
            if low is not None and site.ambient_min_c is not None and site.ambient_min_c < low:
                yield _on(
                    placed,
                    "temperature",
                    FAIL,
                    f"down to {site.ambient_min_c:g} °C at {site.site}, {record.part} stands "
                    f"{low:g} °C",
                    remedy="use a part of a wider temperature class, or heat the enclosure",
                    value=site.ambient_min_c,
                    limit=low,
                    unit="°C",
                )


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
                    f"{site.site} is {site.corrosivity}, {placed.record.part} is made for {rated}",
                    remedy="choose a finish for the category, or an enclosure that keeps the air "
                    "out",
                    value=site.corrosivity,
                    limit=rated,
                    source="ISO 12944-2:2017",
                )


def environment(context: Context) -> Iterator[Finding]:
    """environment: below IP54 outdoors, indoor cable outdoors."""
    for placed in context.placed:
        record, row = placed.record, placed.row
        if KINDS[row.kind].is_run:
            yield from _jacket(context, placed)
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
                f"{record.part} is {code}, {name} is outdoors",
                remedy=f"put it in an enclosure of {OUTDOOR_IP} or better, or choose one",
                value=code,
                limit=OUTDOOR_IP,
                source="IEC 60529; common practice",
            )


def _jacket(context: Context, placed: Placed) -> Iterator[Finding]:
    """Indoor cable on a run that lies outdoors."""
    row, record = placed.row, placed.record
    if record.outdoor is not False or not context.is_outdoor(row):
        return
    route = route_of(row, context.network, context.design.sites)
    start, end = context.network.places[row.id]
    where = f"between {start} and {end}" if start != end else f"at {start}"
    yield _on(
        placed,
        "environment",
        THIN,
        f"{record.part} is indoor cable, this run {where} lies outdoors ({route})",
        remedy="use outdoor cable; write route = indoor where it stays inside one building",
        limit=route,
    )


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
                outdoors = [row for row in section if context.is_outdoor(row)]
                if missing and outdoors:
                    yield on_row(
                        "surge",
                        THIN,
                        outdoors[0],
                        "part",
                        f"this {outdoors[0].kind} goes outdoors with no surge protector at its "
                        + " and its ".join(f"{end} end" for end in missing),
                        paths=link.paths,
                        remedy="add a protector row beside the run at each end, bonded to the "
                        "local earth; fiber needs none",
                        source="IEC 61643-21, IEC 62305-4 (to be confirmed)",
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
            f"copper between {start} and {end}: their earths may stand at different potentials, "
            "current flows in the screen and surges reach both",
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
        "no sites table: temperature, corrosion, protection against water, surges and lengths "
        "over ground were not judged, cables are taken at 20 °C",
        remedy="add the sites table",
    )


def run_length(context: Context) -> Iterator[Finding]:
    """run-length: a run shorter than the straight line between its sites."""
    sites, seen, runs, ends = context.design.sites, set(), [], []
    for row in context.design.segments:
        start, end = context.network.places[row.id]
        if start == end or not KINDS[row.kind].is_run or row.length_m is None:
            continue
        if row.length_m == 0 and start and end:
            if row_key(row) not in seen:
                seen.add(row_key(row))
                yield _without_length(context, row, start, end)
            continue
        a, b = sites.get(start), sites.get(end)
        figures = a and b and (a.latitude, a.longitude, b.latitude, b.longitude)
        if figures and is_one_building(row, [a, b]):
            continue  # rooms of one building: their places are those of its entrance
        if figures and None not in figures and row_key(row) not in seen:
            seen.add(row_key(row))
            runs.append(row)
            ends.append(figures)
    for place, straight in _shorter(runs, ends):
        row = runs[place]
        start, end = context.network.places[row.id]
        yield on_row(
            "run-length",
            THIN,
            row,
            "length_m",
            f"{length_text(row.length_m)} of {row.kind}, {start} and {end} lie "
            f"{length_text(straight)} apart",
            paths=context.network.paths_of(row),
            remedy="mend the length or the coordinates",
            value=row.length_m,
            limit=straight,
            unit="m",
            source="WGS 84 geodesic",
        )


def _without_length(context: Context, row: Segment, start: str, end: str) -> Finding:
    return on_row(
        "run-length",
        THIN,
        row,
        "length_m",
        f"0 m of {row.kind} between {start} and {end}",
        paths=context.network.paths_of(row),
        remedy="write the length of the route; leave the cell blank while it is not known",
        value=0.0,
        unit="m",
    )


def _shorter(runs: list[Segment], ends: list[tuple]) -> Iterator[tuple[int, float]]:
    """Runs shorter than the straight line, with that line [m].

    The sphere tells most apart at once; the geodesic is computed where it may decide.
    """
    if not runs:
        return
    names = ("latitude1", "longitude1", "latitude2", "longitude2")
    columns = dict(zip(names, np.array(ends, dtype=float).T, strict=True))
    lengths = np.array([row.length_m for row in runs])
    most = sphere_distance_km(**columns) * M_PER_KM * SPHERE_TOLERANCE
    doubtful = np.flatnonzero(lengths < most)
    exact = geodesic(**{name: column[doubtful] for name, column in columns.items()})
    for place, straight in zip(
        doubtful.tolist(), (exact.distance_km * M_PER_KM).tolist(), strict=True
    ):
        if lengths[place] < straight - STRAIGHT_LINE_TOLERANCE_M:
            yield place, straight


def fiber_joints(context: Context) -> Iterator[Finding]:
    """fiber-joints: fewer splices between reels than the order lengths of a link force."""
    for link in context.network.links[OPTICAL]:
        forced, longest = 0, None
        for row in link.rows[1:-1]:
            # what was measured is laid: its joints are in the reading
            if KINDS[row.kind].is_run and row.measured_db is None:
                joints = joints_forced(row, context)
                if joints and longest is None:
                    longest = row
                forced += joints
        if not forced:
            continue
        have = mid_span_splices(link, context.catalog)
        if have < forced:
            yield on_row(
                "fiber-joints",
                THIN,
                longest,
                "length_m",
                f"the order lengths of {longest.part} force {forced} splice(s), {have} "
                "between lengths of cable on the link",
                paths=link.paths,
                remedy=f"add {forced - have} splice(s), or order one length that holds the run",
                value=have,
                limit=forced,
                unit="splices",
                source="common practice: a joint between any two order lengths",
            )
