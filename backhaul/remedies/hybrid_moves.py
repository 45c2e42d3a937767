"""A cable of glass and conductors in one sheath by another: both of its rows change as one."""

from collections.abc import Iterator

from backhaul.budgets.order_hybrids import sheath
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.links import FEED
from backhaul.remedies.moves import Candidate, Scene, differences


def other_hybrid(scene: Scene) -> Iterator[Candidate]:
    """The hybrid cable of a feed by one with thicker conductors and no fewer strands."""
    catalog = scene.context.catalog
    for link in (each for each in scene.links if each.kind == FEED):
        for row in link.rows:
            if not KINDS[row.kind].is_run or not catalog.is_hybrid(row.part):
                continue
            glass = _glass_of(scene, row)
            if glass is None or not all(map(scene.may_change, (row, glass))):
                continue
            copper, fiber = catalog.feeds[row.part], catalog.fibers[row.part]
            classes = (fiber.fiber_class, *catalog.better_classes(fiber.fiber_class))
            for name, new in catalog.feeds.items():
                if not catalog.is_hybrid(name):
                    continue
                of_glass = catalog.fibers[name]
                if (
                    (new.ohm_per_km or 0.0) < (copper.ohm_per_km or 0.0)
                    and (new.conductors, new.voltage_grade)
                    == (copper.conductors, copper.voltage_grade)
                    and (new.outdoor or not copper.outdoor)
                    and of_glass.fiber_class in classes
                    and (of_glass.strands or 0) >= (fiber.strands or 0)
                ):
                    edits = tuple(scene.set(each, "part", name) for each in (glass, row))
                    distance = (new.area_mm2 or 0.0) + differences(fiber, of_glass)
                    yield Candidate(edits, ("feed", "run"), distance)


def _glass_of(scene: Scene, feed: Segment) -> Segment | None:
    """The fiber row of the sheath that a feed lies in: of one part, way and length."""
    places, rows = scene.context.network.places, scene.context.design.segments
    wanted = sheath(feed.part, places[feed.id], feed.length_m, feed.by)
    return next(
        (
            row
            for row in rows
            if row.kind == "fiber"
            and sheath(row.part, places[row.id], row.length_m, row.by) == wanted
        ),
        None,
    )
