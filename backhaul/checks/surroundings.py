"""Heat, salt, water and lightning at each site; runs too short for the ground they cross."""

from collections.abc import Iterator

from backhaul.budgets.orders import joints_forced
from backhaul.checks.context import Context, on_row
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.links import COPPER, FEED, OPTICAL
from backhaul.path.things import row_key
from backhaul.physics.environment import OUTDOOR_IP, corrosivity_rank, ip_meets
from backhaul.wording import length_text

#: A run may fall short of the straight line between its sites by this much: coordinates are
#: rounded (common practice).
STRAIGHT_LINE_TOLERANCE_M = 2.0


def temperature(context: Context) -> Iterator[Finding]:
    """temperature: equipment, optics and cable against the coldest and warmest of their site."""
    for row, record, places in _parts(context):
        low, high = getattr(record, "temp_min_c", None), getattr(record, "temp_max_c", None)
        if low is None and high is None:
            continue
        enclosed = KINDS[row.kind].enclosed
        for site in places:
            rise = site.rise_c if enclosed else 0.0
            if high is not None and site.ambient_max_c is not None and (
                site.ambient_max_c + rise > high
            ):
                yield on_row(
                    "temperature", FAIL, row, "part",
                    f"up to {site.ambient_max_c + rise:g} °C at {site.site}, {record.part} stands "
                    f"{high:g} °C", remedy="use a part of a wider temperature class, shade or "
                    "ventilate the enclosure", value=site.ambient_max_c + rise, limit=high,
                    unit="°C",
                )  # fmt: skip
            if low is not None and site.ambient_min_c is not None and site.ambient_min_c < low:
                yield on_row(
                    "temperature", FAIL, row, "part",
                    f"down to {site.ambient_min_c:g} °C at {site.site}, {record.part} stands "
                    f"{low:g} °C", remedy="use a part of a wider temperature class, or heat the "
                    "enclosure", value=site.ambient_min_c, limit=low, unit="°C",
                )  # fmt: skip


def corrosion(context: Context) -> Iterator[Finding]:
    """corrosion: equipment rated for a milder category than its site has."""
    for row, record, places in _parts(context):
        rated = getattr(record, "corrosivity", None)
        if not rated:
            continue
        for site in places:
            if site.corrosivity and corrosivity_rank(site.corrosivity) > corrosivity_rank(rated):
                yield on_row(
                    "corrosion", THIN, row, "part",
                    f"{site.site} is {site.corrosivity}, {record.part} is made for {rated}",
                    remedy="choose a finish for the category, or an enclosure that keeps the air "
                    "out", value=site.corrosivity, limit=rated, source="ISO 12944-2:2017",
                )  # fmt: skip


def environment(context: Context) -> Iterator[Finding]:
    """environment: below IP54 outdoors, indoor cable outdoors."""
    for row, record, places in _parts(context):
        outdoors = [site for site in places if site.outdoor]
        if not outdoors:
            continue
        code = getattr(record, "ip_code", None)
        if code and ip_meets(rated=code, needed=OUTDOOR_IP) is False:
            yield on_row(
                "environment", THIN, row, "part",
                f"{record.part} is {code}, {outdoors[0].site} is outdoors",
                remedy=f"put it in an enclosure of {OUTDOOR_IP} or better, or choose one",
                value=code, limit=OUTDOOR_IP, source="IEC 60529; common practice",
            )  # fmt: skip
        if KINDS[row.kind].is_run and record.outdoor is False:
            yield on_row(
                "environment", THIN, row, "part",
                f"{record.part} is indoor cable, {outdoors[0].site} is outdoors",
                remedy="use outdoor cable, or a duct that keeps sun and water off",
            )  # fmt: skip


def surge(context: Context) -> Iterator[Finding]:
    """surge: copper and feeds that go outdoors want a protector next to the run at each end."""
    for kind in (COPPER, FEED):
        for link in context.network.links[kind]:
            rows = link.rows
            for index, row in enumerate(rows):
                if not KINDS[row.kind].is_run or not context.is_outdoor(row):
                    continue
                missing = [
                    end for end, beside in (("first", index - 1), ("far", index + 1))
                    if not (0 <= beside < len(rows) and KINDS[rows[beside].kind].protects)
                ]  # fmt: skip
                if missing:
                    yield on_row(
                        "surge", THIN, row, "part",
                        f"this {row.kind} goes outdoors with no surge protector at its "
                        + " and its ".join(f"{end} end" for end in missing),
                        paths=link.paths,
                        remedy="add a protector row beside the run at each end, bonded to the "
                        "local earth; fiber needs none",
                        source="IEC 61643-21, IEC 62305-4 (from memory)",
                    )  # fmt: skip


def run_length(context: Context) -> Iterator[Finding]:
    """run-length: a run shorter than the straight line between its sites."""
    distances: dict[tuple[str, str], float | None] = {}
    for row in context.design.segments:
        if not KINDS[row.kind].is_run or row.length_m is None:
            continue
        ends = context.network.places[row.id]
        if ends[0] == ends[1] or None in ends:
            continue
        if ends not in distances:
            distances[ends] = _straight_line_m(context, ends)
        straight = distances[ends]
        if straight is not None and row.length_m < straight - STRAIGHT_LINE_TOLERANCE_M:
            yield on_row(
                "run-length", THIN, row, "length_m",
                f"{length_text(row.length_m)} of {row.kind}, {ends[0]} and {ends[1]} lie "
                f"{length_text(straight)} apart", remedy="mend the length or the coordinates",
                value=row.length_m, limit=straight, unit="m", source="WGS 84 geodesic",
            )  # fmt: skip


def _straight_line_m(context: Context, ends) -> float | None:
    import numpy as np

    from backhaul.physics.geometry import geodesic

    a, b = (context.design.sites.get(name) for name in ends)
    figures = [
        figure for site in (a, b) if site is not None
        for figure in (site.latitude, site.longitude)
    ]  # fmt: skip
    if len(figures) < 4 or None in figures:
        return None
    result = geodesic(
        latitude1=np.array([figures[0]]), longitude1=np.array([figures[1]]),
        latitude2=np.array([figures[2]]), longitude2=np.array([figures[3]]),
    )  # fmt: skip
    return float(result.distance_km[0]) * 1000


def fiber_joints(context: Context) -> Iterator[Finding]:
    """fiber-joints: fewer splices on a link than its order lengths force."""
    for link in context.network.links[OPTICAL]:
        forced, longest = 0, None
        for row in link.rows[1:-1]:
            if KINDS[row.kind].is_run:
                joints = joints_forced(row, context)
                if joints and longest is None:
                    longest = row
                forced += joints
        if not forced:
            continue
        have = sum(
            1 if row.count is None else row.count
            for row in link.rows if KINDS[row.kind].divides_run
        )  # fmt: skip
        if have < forced:
            yield on_row(
                "fiber-joints", THIN, longest, "length_m",
                f"the order lengths of {longest.part} force {forced} splice(s), {have} on the link",
                paths=link.paths, remedy=f"add {forced - have} splice(s), or order one length "
                "that holds the run", value=have, limit=forced, unit="splices",
                source="common practice: a joint between any two order lengths",
            )  # fmt: skip


def _parts(context: Context):
    """Every row with the record of its part and the sites that it stands at; hops at both ends."""
    seen = set()
    for row in context.design.segments:
        kind = KINDS[row.kind]
        if row.label and kind.has_ports:
            key = (row_key(row), row.site)
            if key in seen:
                continue
            seen.add(key)
        sites = context.design.sites
        places = [sites[name] for name in dict.fromkeys(context.network.places[row.id])
                  if name in sites]  # fmt: skip
        if row.kind == "radio" and row.to_part and row.to_part != row.part and len(places) > 1:
            yield row, context.catalog.radios[row.part], places[:1]
            yield row, context.catalog.radios[row.to_part], places[1:]
            continue
        record = getattr(context.catalog, kind.families[0]).get(row.part)
        if record is not None and places:
            yield row, record, places
