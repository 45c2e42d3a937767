"""Equipment in an explosive area: what is not marked for it never passes."""

from collections.abc import Iterator

from backhaul.checks.context import Context, on_row
from backhaul.findings import EX_UNIT, FAIL, THIN, Finding
from backhaul.physics.environment import ex_suits


def explosive_area(context: Context) -> Iterator[Finding]:
    """environment: equipment in an explosive area whose marking does not show that it may be there."""
    for placed in context.placed:
        if not hasattr(placed.record, "ex_marking"):
            continue
        marking = placed.record.ex_marking
        for site in placed.sites:
            area = site.hazardous_area
            if not area or (marking and ex_suits(marking=marking, hazardous_area=area)):
                continue
            said = (
                f"is marked {marking}, which does not show that it may be there"
                if marking
                else "has no Ex marking: is it certified for that?"
            )
            found = on_row(
                "environment",
                FAIL if marking else THIN,
                placed.row,
                placed.column,
                f"{site.site} is {area}, {placed.record.part} {said}",
                paths=placed.paths,
                remedy="move it out of the area, or enter the ex_marking of certified equipment; "
                "the licensed assessment of the area decides",
                value=marking,
                limit=area,
                unit=EX_UNIT,
                source="IEC 60079-14:2013 Table 1 (from memory)",
            )
            yield found._replace(rows=placed.row_ids)
