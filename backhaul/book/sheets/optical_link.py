"""One optical link on the Optical links sheet: its keys, its ends, where its rows stand in the arrays."""

from typing import Any

from backhaul.book.optical_keys import light_key
from backhaul.book.plan import Plan
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_items import COUNT, Joint
from backhaul.figures.optical_terms import DISPERSION_LIMITS
from backhaul.path.links import Link
from backhaul.spreadsheet.grid import Sheet

RUNS, JOINTS = "runs", "joints"
Places = dict[tuple[str, int, int], int]


def item_places(plan: Plan) -> Places:
    """Where a row stands in the run or joint arrays: (table, row id, direction) -> place."""
    places = {}
    for name, items in (
        (RUNS, plan.evaluation.optical.runs),
        (JOINTS, plan.evaluation.optical.joints),
    ):
        for place, (subject, direction) in enumerate(
            zip(items["subjects"], items["direction"].tolist(), strict=True)
        ):
            places[(name, subject.row.id, direction)] = place
    return places


class LinkBlock:
    """A link under construction: `light.{index}.…`, and `light.{index}.{a|b}.…` by direction."""

    def __init__(self, plan: Plan, sheet: Sheet, link: Link, places: Places):
        self.plan, self.sheet, self.link, self.places = plan, sheet, link, places
        self.catalog = plan.evaluation.catalog
        self.optical = plan.evaluation.optical
        self.prefix = f"light.{link.index}"
        self.optics = [self.catalog.optics[row.part] for row in (link.rows[0], link.rows[-1])]
        #: keys of the loss cells of the rows, by direction and term
        self.losses: dict[tuple[int, str], list[str]] = {}
        self.sections: list[int] = []

    @property
    def directions(self) -> tuple[Direction, Direction]:
        """From the near end, and from the far end."""
        return self.optical.of(self.link)

    def joint_count(self, row: Any) -> str | None:
        """Yellow cell of the count of a joint."""
        return self.plan.inputs.of(COUNT, Joint(row, self.catalog.joints[row.part]))

    def dispersion_limits(self, way: int) -> list[str]:
        """Yellow cells of what the optics of both ends stand."""
        keys = [self.plan.inputs.of(limit, self.directions[way]) for limit in DISPERSION_LIMITS]
        return list(dict.fromkeys(key for key in keys if key is not None))

    @property
    def items(self) -> tuple[Any, ...]:
        """The rows between the two optics."""
        return self.link.rows[1:-1]

    def key(self, way: int, name: str) -> str:
        """Key of a figure of one direction."""
        return light_key(self.directions[way], name)

    def row_key(self, way: int, row: Any, name: str) -> str:
        """Key of a figure of a row in one direction."""
        return light_key(self.directions[way], name, row.id)

    @property
    def cable_sections(self) -> str:
        """Key of the number of sections of cable."""
        return f"{self.prefix}.sections"

    @property
    def glass_km(self) -> str:
        """Key of the length of all its glass."""
        return f"{self.prefix}.glass_km"

    def direction(self, way: int) -> int:
        """Place in the arrays over directions."""
        return self.directions[way].place

    def value(self, name: str, way: int) -> Any:
        """A term of one direction."""
        return self.optical.values[name][self.direction(way)]

    def item(self, row: Any, way: int) -> tuple[Any, int]:
        """Arrays of the runs or joints, and the place of a row in them."""
        name = RUNS if KINDS[row.kind].is_run else JOINTS
        arrays = self.optical.runs if name == RUNS else self.optical.joints
        return arrays, self.places[(name, row.id, self.direction(way))]

    def way(self, way: int) -> str:
        """Name of a direction by where it leads."""
        places = self.plan.evaluation.network.places
        rows = (self.link.rows[0], self.link.rows[-1])
        ends = [places[row.id][0] or row.part for row in rows]
        if ends[0] == ends[1]:
            ends = [f"step {self.link.first_step:g}", f"step {self.link.last_step:g}"]
        return f"to {ends[1 - way]}"
