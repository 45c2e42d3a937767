"""The whole design by its sites: what stands at each, and what runs from site to site."""

from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.design.kinds import AIR, KINDS
from backhaul.drawing.looks import (
    BODY,
    FRAME,
    FRAME_EDGE,
    HEAD,
    NAME,
    PALE,
    PLAIN,
    SMALL,
    STROKES,
    Stroke,
    chip,
)
from backhaul.drawing.page import Page, line_height
from backhaul.figures.us_units import words_of
from backhaul.findings import PASS, worst
from backhaul.path.links import RADIO
from backhaul.wording import length_text

#: Width of a site, room between two, height of a thing, of a line between two sites [mm].
_SITE_MM, _LEAST_GAP_MM, _MOST_GAP_MM, _THING_MM, _PORT_MM = 44.0, 32.0, 70.0, 5.6, 11.5
_LEVEL_MM, _TURN_MM = 0.5, 2.2
_HEAD_MM, _FOOT_MM, _BETWEEN_MM = 8.5, 2.0, 7.0


class Thing(NamedTuple):
    """A device or terminal at a site."""

    name: str
    part: str
    verdict: str


class Way(NamedTuple):
    """What runs from one site to another."""

    start: str
    end: str
    stroke: Stroke
    title: str
    texts: list[str]
    verdict: str


class Site:
    """A site with its place on the page."""

    def __init__(self, name: str, level: str, things: list[Thing]):
        self.name, self.level, self.things = name, level, things
        self.column, self.x, self.y = 0, 0.0, 0.0
        self.ports = {True: 0, False: 0}  # taken on its right, on its left
        self.ways = {True: 0, False: 0}

    @property
    def height(self) -> float:
        ways = max(self.ways.values())
        return max(
            _HEAD_MM + len(self.things) * _THING_MM + _FOOT_MM, _HEAD_MM - 3 + ways * _PORT_MM
        )

    def port(self, *, right: bool) -> tuple[float, float]:
        """The next free place on one of its sides."""
        number = self.ports[right]
        self.ports[right] += 1
        return self.x + _SITE_MM * right, self.y + 7.5 + number * _PORT_MM


class Plan(NamedTuple):
    """Sites that something joins, with the room that they need at the least [mm]."""

    sites: dict[str, Site]
    ways: list[Way]
    width: float
    height: float

    @property
    def columns(self) -> int:
        return 1 + max(site.column for site in self.sites.values())


class SitesSheet(NamedTuple):
    """One sheet of sites: its size, and the plans with their left upper corners [mm]."""

    width: float
    height: float
    plans: list[tuple[Plan, float, float]]
    bottom: float


def site_sheets(evaluation: Results, paper: tuple[float, float], frame: tuple) -> list[SitesSheet]:
    """The plans side by side and one below the other, sheet by sheet.

    frame: left, upper, right and lower margin [mm]. A plan that is larger than the sheet gets a
    sheet of the same shape that is as large as it needs.
    """
    left, top, right, low = frame
    width, height = paper
    sheets: list[SitesSheet] = []
    x, y, shelf = left, top, 0.0
    for plan in _plans(evaluation):
        wide, high = width, height
        while plan.width > wide - left - right or plan.height > high - top - low:
            wide, high = wide * 2**0.5, high * 2**0.5
        if x > left and x + plan.width > width - right:
            x, y, shelf = left, y + shelf + _BETWEEN_MM, 0.0
        if not sheets or wide > width or sheets[-1].width > width or y + plan.height > height - low:
            sheets.append(SitesSheet(wide, high, [], 0.0))
            x, y, shelf = left, top, 0.0
        sheets[-1].plans.append((plan, x, y))
        shelf = max(shelf, plan.height)
        sheets[-1] = sheets[-1]._replace(bottom=y + shelf)
        x += plan.width + 2 * _BETWEEN_MM
    return sheets


def draw_sites(page: Page, sheet: SitesSheet, *, right: float) -> None:
    """The plans of a sheet; one alone takes its whole width. right: margin [mm]."""
    for plan, x, y in sheet.plans:
        gap = float(_LEAST_GAP_MM)
        if len(sheet.plans) == 1 and plan.columns > 1:
            room = page.width - x - right - plan.columns * _SITE_MM
            gap = min(room / (plan.columns - 1), _MOST_GAP_MM)
        for site in plan.sites.values():
            site.x = x + site.column * (_SITE_MM + gap)
            site.y += y
            _draw_site(page, site)
        turns: dict[int, int] = {}
        for way in plan.ways:
            _draw_way(page, plan.sites, way, gap, turns)


def _plans(evaluation: Results) -> list[Plan]:
    """Sites in columns from the first of the paths on, and what runs between them."""
    ways = _ways(evaluation)
    sites = _sites(evaluation, ways)
    plans = []
    for names in _joined(sites, ways):
        own = {name: sites[name] for name in names}
        runs = [way for way in ways if way.start in own]
        _columns(own, runs)
        for way in runs:
            first, second = _ordered(own, way)
            first.ways[True] += 1
            second.ways[second.column == first.column] += 1
        _rows(list(own.values()), runs)
        columns = 1 + max(site.column for site in own.values())
        width = columns * _SITE_MM + (columns - 1) * _LEAST_GAP_MM
        plans.append(Plan(own, runs, width, max(site.y + site.height for site in own.values())))
    return plans


def _joined(sites: dict[str, Site], ways: list[Way]) -> list[list[str]]:
    """Names of sites that hang together, in the order of the first of each."""
    group = {name: name for name in sites}

    def root(name: str) -> str:
        while group[name] != name:
            group[name] = group[group[name]]
            name = group[name]
        return name

    for way in ways:
        group[root(way.end)] = root(way.start)
    found: dict[str, list[str]] = {}
    for name in sites:
        found.setdefault(root(name), []).append(name)
    return list(found.values())


def _sites(evaluation: Results, ways: list[Way]) -> dict[str, Site]:
    """In the order in which the paths meet them."""
    things: dict[str, list[Thing]] = {}
    names: dict[str, None] = {}
    for chain in evaluation.network.chains.values():
        for row in chain.rows:
            names.update(dict.fromkeys(filter(None, evaluation.network.places[row.id])))
    for equipment in evaluation.network.all_equipment.values():
        row = equipment.segment
        part = row.to_part if equipment.end == "far" and row.to_part else row.part
        verdict = worst(evaluation.row_verdicts.get(n, PASS) for n in equipment.row_ids)
        if KINDS[row.kind].medium == AIR:
            verdict = PASS  # the hop bears it
        if equipment.site:
            thing = Thing(row.label or part, part if row.label else "", verdict)
            things.setdefault(equipment.site, []).append(thing)
    made, words = {}, words_of(evaluation.design)
    for name in names:
        site = evaluation.design.sites.get(name)
        level = (
            words(f"{site.ground_m:g} m") if site is not None and site.ground_m is not None else ""
        )
        made[name] = Site(name, level, things.get(name, []))
    return made


def _ways(evaluation: Results) -> list[Way]:
    """Runs and hops between sites, each thing once."""
    network, found, words = evaluation.network, {}, words_of(evaluation.design)
    hops = {link.rows[0].id: link for link in network.links[RADIO]}
    hops_by_label = {link.rows[0].label: link for link in hops.values() if link.rows[0].label}
    for chain in network.chains.values():
        for row in chain.rows:
            start, end = network.places[row.id]
            key = (row.kind, row.label) if row.label else row.id
            if not start or not end or start == end or key in found:
                continue
            if KINDS[row.kind].medium == AIR:
                link = hops.get(row.id) or hops_by_label.get(row.label)
                if link is None:
                    continue
                km = float(evaluation.radio.hops.distance_km[link.index])
                ghz = float(evaluation.radio.hops.frequency_ghz[link.index, 0])
                title = words(f"{km:.2f} km") if km == km else "hop"
                texts = [f"{ghz:g} GHz" if ghz == ghz else "", row.label or ""]
                found[key] = Way(
                    start, end, STROKES[RADIO], title, texts, evaluation.link_verdict(link)
                )
                continue
            stroke = next(
                (
                    STROKES[k]
                    for k, links in network.links.items()
                    for link in links
                    if any(one.id == row.id for one in link.rows)
                ),
                PLAIN,
            )
            title = words(length_text(row.length_m)) if row.length_m else "length not given"
            verdict = evaluation.row_verdicts.get(row.id, PASS)
            found[key] = Way(start, end, stroke, title, [row.part, row.label or ""], verdict)
    return list(found.values())


def _columns(sites: dict[str, Site], ways: list[Way]) -> None:
    """As many steps from the first site as it takes; what only leads there stands one before."""
    after: dict[str, list[str]] = {name: [] for name in sites}
    for way in ways:
        after[way.start].append(way.end)
    column: dict[str, int] = {}

    def spread(name: str, at: int) -> None:
        waiting = [(name, at)]
        while waiting:
            here, number = waiting.pop(0)
            if here not in column:
                column[here] = number
                waiting += [(each, number + 1) for each in after[here]]

    for name in sites:
        if name not in column:
            met = [column[each] for each in after[name] if each in column]
            spread(name, max(min(met) - 1, 0) if met else 0)
    for name, site in sites.items():
        site.column = column[name]


def _rows(sites: list[Site], ways: list[Way]) -> None:
    """Down the page: each as high as the first site that leads to it, below its neighbours."""
    by_name = {site.name: site for site in sites}
    free: dict[int, float] = {}
    for site in sorted(sites, key=lambda one: one.column):
        lead = [
            by_name[way.start].y
            for way in ways
            if way.end == site.name and by_name[way.start].column < site.column
        ]
        site.y = max(free.get(site.column, 0.0), min(lead, default=0.0))
        free[site.column] = site.y + site.height + _BETWEEN_MM


def _ordered(sites: dict[str, Site], way: Way) -> tuple[Site, Site]:
    """Both ends, the left one first."""
    first, second = sites[way.start], sites[way.end]
    return (first, second) if first.column <= second.column else (second, first)


def _draw_site(page: Page, site: Site) -> None:
    page.box(site.x, site.y, _SITE_MM, site.height, face=FRAME, edge=FRAME_EDGE, radius=1.2)
    page.text(site.x + 2, site.y + 3.2, site.name, HEAD, bold=True)
    name = page.letters.width(site.name, HEAD, bold=True)
    page.text(site.x + 3.5 + name, site.y + 3.3, site.level, SMALL, colour=PALE)
    y = site.y + _HEAD_MM
    for thing in site.things:
        page.text(site.x + 2, y, thing.name, NAME, bold=True)
        page.text(site.x + 2, y + line_height(SMALL), thing.part, SMALL, colour=PALE)
        if thing.verdict != PASS:
            chip(page, site.x + _SITE_MM - 9.5, y, thing.verdict, size=SMALL)
        y += _THING_MM


def _draw_way(
    page: Page, sites: dict[str, Site], way: Way, gap: float, turns: dict[int, int]
) -> None:
    """A line from the right of one site to the left of the other, its texts on it."""
    first, second = _ordered(sites, way)
    start = first.port(right=True)
    end = second.port(right=first.column == second.column)
    turn = start[0] + 4.0
    if first.column < second.column:  # a later one turns earlier, so that lines cross less
        turn = end[0] - 3.0
        if abs(start[1] - end[1]) > _LEVEL_MM:
            turn -= _TURN_MM * turns.setdefault(second.column, 0)
            turns[second.column] += 1
    points = [start, (turn, start[1]), (turn, end[1]), end]
    page.line(points, way.stroke.colour, pt=way.stroke.pt + 0.3, dash=way.stroke.dash, order=0.9)
    x, y = start[0] + 2.0, start[1]
    width = chip(page, x, y - 2.4, way.verdict, size=SMALL)
    page.text(x + width + 1.2, y - 2.4, way.title, NAME, bold=True)
    room = max(min(gap, _MOST_GAP_MM) - 7.0, 20.0)
    told = ", ".join(filter(None, way.texts))
    page.lines(x, y + 2.2, page.letters.wrapped(told, room, BODY)[:2], BODY, colour=PALE)
