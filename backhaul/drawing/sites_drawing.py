"""The whole design by its sites: what stands at each, and what runs from site to site."""

from typing import NamedTuple

from backhaul.checks.results import Results
from backhaul.drawing.looks import BODY, FRAME, FRAME_EDGE, HEAD, NAME, PALE, SMALL, chip
from backhaul.drawing.page import Page, line_height
from backhaul.drawing.site_plans import (
    BETWEEN_MM,
    HEAD_MM,
    LEAST_GAP_MM,
    SITE_MM,
    THING_MM,
    Plan,
    Site,
    Way,
    ordered,
    plans_of,
)
from backhaul.findings import PASS

#: Widest room between two sites; of a line: what counts as level, and between two that turn [mm].
_MOST_GAP_MM, _LEVEL_MM, _TURN_MM = 70.0, 0.5, 2.2


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
    most = int((width - left - right + LEAST_GAP_MM) / (SITE_MM + LEAST_GAP_MM))
    for plan in plans_of(evaluation, most):
        wide, high = width, height
        while plan.width > wide - left - right or plan.height > high - top - low:
            wide, high = wide * 2**0.5, high * 2**0.5
        if x > left and x + plan.width > width - right:
            x, y, shelf = left, y + shelf + BETWEEN_MM, 0.0
        if not sheets or wide > width or sheets[-1].width > width or y + plan.height > height - low:
            sheets.append(SitesSheet(wide, high, [], 0.0))
            x, y, shelf = left, top, 0.0
        sheets[-1].plans.append((plan, x, y))
        shelf = max(shelf, plan.height)
        sheets[-1] = sheets[-1]._replace(bottom=y + shelf)
        x += plan.width + 2 * BETWEEN_MM
    return sheets


def draw_sites(page: Page, sheet: SitesSheet, *, right: float) -> None:
    """The plans of a sheet; one alone takes its whole width. right: margin [mm]."""
    for plan, x, y in sheet.plans:
        gap = float(LEAST_GAP_MM)
        if len(sheet.plans) == 1 and plan.columns > 1:
            room = page.width - x - right - plan.columns * SITE_MM
            gap = min(room / (plan.columns - 1), _MOST_GAP_MM)
        for site in plan.sites.values():
            site.x = x + site.column * (SITE_MM + gap)
            site.y += y
            _draw_site(page, site)
        turns: dict[int, int] = {}
        for way in plan.ways:
            _draw_way(page, plan.sites, way, gap, turns)


def _draw_site(page: Page, site: Site) -> None:
    page.box(site.x, site.y, SITE_MM, site.height, face=FRAME, edge=FRAME_EDGE, radius=1.2)
    letters, room = page.letters, SITE_MM - 4.0
    beside = letters.width(site.level, SMALL) + 1.5 if site.level else 0.0
    size = HEAD if letters.width(site.name, HEAD, bold=True) <= room - beside else NAME
    called = letters.shortened(site.name, room - beside, size, bold=True)
    page.text(site.x + 2, site.y + 3.2, called, size, bold=True)
    name = letters.width(called, size, bold=True)
    page.text(site.x + 3.5 + name, site.y + 3.3, site.level, SMALL, colour=PALE)
    y = site.y + HEAD_MM
    for thing in site.things:
        free = room - (8.0 if thing.verdict != PASS else 0.0)
        thing_name = letters.shortened(thing.name, free, NAME, bold=True)
        part = letters.shortened(thing.part, free, SMALL)
        page.text(site.x + 2, y, thing_name, NAME, bold=True)
        page.text(site.x + 2, y + line_height(SMALL), part, SMALL, colour=PALE)
        if thing.verdict != PASS:
            chip(page, site.x + SITE_MM - 9.5, y, thing.verdict, size=SMALL)
        y += THING_MM


def _draw_way(
    page: Page, sites: dict[str, Site], way: Way, gap: float, turns: dict[int, int]
) -> None:
    """A line from the right of one site to the left of the other, its texts on it."""
    first, second = ordered(sites, way)
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
