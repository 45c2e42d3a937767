"""Sites in columns from the first of a path on, and what runs between them."""

from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.design.kinds import AIR, KINDS
from backhaul.drawing.looks import PLAIN, STROKES, Stroke
from backhaul.figures.us_units import words_of
from backhaul.findings import PASS, worst
from backhaul.path.links import RADIO
from backhaul.wording import length_text

#: Width of a site, least room between two, height of a thing, of a line between two sites [mm].
SITE_MM, LEAST_GAP_MM, THING_MM, _PORT_MM = 44.0, 32.0, 5.6, 11.5
HEAD_MM, _FOOT_MM, BETWEEN_MM = 8.5, 2.0, 7.0


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
        return max(HEAD_MM + len(self.things) * THING_MM + _FOOT_MM, HEAD_MM - 3 + ways * _PORT_MM)

    def port(self, *, right: bool) -> tuple[float, float]:
        """The next free place on one of its sides."""
        number = self.ports[right]
        self.ports[right] += 1
        return self.x + SITE_MM * right, self.y + 7.5 + number * _PORT_MM


class Plan(NamedTuple):
    """Sites that something joins, with the room that they need at the least [mm]."""

    sites: dict[str, Site]
    ways: list[Way]
    width: float
    height: float

    @property
    def columns(self) -> int:
        return 1 + max(site.column for site in self.sites.values())


def plans_of(evaluation: Results, most: int) -> list[Plan]:
    """Sites in columns from the first of the paths on, and what runs between them.

    most: columns that find room on a sheet.
    """
    ways = _ways(evaluation)
    sites = _sites(evaluation, ways)
    plans = []
    for names in _joined(sites, ways):
        own = {name: sites[name] for name in names}
        runs = [way for way in ways if way.start in own]
        _columns(own, runs)
        plans += [_plan(*band) for band in _folded(own, runs, most)]
    return plans


def _plan(sites: dict[str, Site], ways: list[Way]) -> Plan:
    """Sites whose columns are known, each in its row."""
    for way in ways:
        first, second = ordered(sites, way)
        first.ways[True] += 1
        second.ways[second.column == first.column] += 1
    _rows(list(sites.values()), ways)
    columns = 1 + max(site.column for site in sites.values())
    width = columns * SITE_MM + (columns - 1) * LEAST_GAP_MM
    return Plan(sites, ways, width, max(site.y + site.height for site in sites.values()))


def _folded(
    sites: dict[str, Site], ways: list[Way], most: int
) -> list[tuple[dict[str, Site], list[Way]]]:
    """A plan that is wider than a sheet as bands, each from the column with which one ends.

    There its sites stand again, by name. A plan with a way over more than a band stays whole.
    """
    last = max(site.column for site in sites.values())
    if last < most or most < 2:
        return [(sites, ways)]
    bands: list[tuple[dict[str, Site], list[Way]]] = []
    drawn: set[int] = set()
    shown: set[str] = set()
    for start in range(0, last, most - 1):
        inside = {n: s for n, s in sites.items() if start <= s.column < start + most}
        here = [
            place
            for place, way in enumerate(ways)
            if place not in drawn and way.start in inside and way.end in inside
        ]
        drawn.update(here)
        ends = {end for place in here for end in (ways[place].start, ways[place].end)}
        band = {}
        for name, site in inside.items():
            if name in ends or name not in shown:
                band[name] = Site(name, site.level, [] if name in shown else site.things)
                band[name].column = site.column - start
        shown.update(band)
        bands.append((band, [ways[place] for place in here]))
    return bands if len(drawn) == len(ways) else [(sites, ways)]


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
        free[site.column] = site.y + site.height + BETWEEN_MM


def ordered(sites: dict[str, Site], way: Way) -> tuple[Site, Site]:
    """Both ends, the left one first."""
    first, second = sites[way.start], sites[way.end]
    return (first, second) if first.column <= second.column else (second, first)
