"""What guards a feed: a breaker that trips, conductors that carry what it lets flow, an earth."""

from collections.abc import Iterator

from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_remedies import earthed_twin
from backhaul.checks.context import Context, on_row
from backhaul.checks.feed_groups import failing, feeds, on_feeds, paths_of
from backhaul.checks.power_limits import ELECTRICIAN, protected
from backhaul.figures.power_guard_terms import FUSED, FUSED_AND_LIMITED, FUSED_TO_TABLE
from backhaul.figures.power_judgements import FAULT, OVERLOAD, TRIP_MULTIPLE, UNFUSED
from backhaul.figures.power_terms import AC, MAINS_CONDUCTORS
from backhaul.findings import CAUTION, CONDUCTORS_UNIT, FAIL, LASTING_UNIT, THIN, Finding
from backhaul.wording import against


def feed_protection(context: Context) -> Iterator[Finding]:
    """feed-protection: the fault current that a breaker would see at the far end."""
    for lines in failing(context, FAULT, lambda line: -line.values["short_circuit_a"]):
        fault, breaker = (lines[0].values[key] for key in ("short_circuit_a", "relied_on_a"))
        needed = TRIP_MULTIPLE * breaker
        least, trips = against(fault, needed)
        most = lines[0].values["source_most_a"]
        gives = f", all that {lines[0].source.equipment.name} gives" if fault == most else ""
        yield on_feeds(
            context,
            "feed-protection",
            THIN,
            lines,
            "part",
            f"a short at the far end draws {least} A at the least{gives}, a {breaker:g} A breaker "
            f"of type B trips at once from {trips} A",
            paths=paths_of(lines),
            remedy=protected(context, lines[0], by_residual_current=True),
            value=fault,
            limit=needed,
            unit="A",
            source="IEC 60898-1:2015 Table 2, IEC 60364-4-41 clause 411",
        )
    yield from _unknown_breakers(context)
    for lines in failing(context, OVERLOAD, lambda line: -line.values["rated_a"]):
        yield _overloadable(context, FAIL, lines, "lasting_a")
    for lines in failing(context, UNFUSED, lambda line: -line.values["rated_a"]):
        yield _overloadable(context, THIN, lines, "unfused_a")


def _overloadable(context: Context, severity: str, lines: list[PowerLine], key: str) -> Finding:
    """More may flow for long than the conductors carry: by the breaker, or no breaker is known."""
    flows, rated = (lines[0].values[name] for name in (key, "rated_a"))
    lets, carried = against(flows, rated)
    source = lines[0].source.equipment.name
    who = {
        FUSED: f"the breaker of {lets} A lets more flow",
        FUSED_TO_TABLE: f"in that air the breaker of {lets} A lets more flow",
        FUSED_AND_LIMITED: f"the breaker of {source} and its own limit let {lets} A flow, more",
    }.get(lines[0].guard, f"no fuse is known, {source} lets {lets} A flow, more")
    return on_feeds(
        context,
        "feed-protection",
        severity,
        lines,
        "part",
        f"{who} than the {carried} A that the conductors carry there",
        paths=paths_of(lines),
        remedy=protected(context, lines[0], by_residual_current=False),
        value=flows,
        limit=rated,
        unit="A derated" if lines[0].guard == FUSED_TO_TABLE else LASTING_UNIT,
        source="IEC 60364-4-43 clauses 433.1, 436 (to be confirmed)",
    )


def _unknown_breakers(context: Context) -> Iterator[Finding]:
    """A caution where nobody knows what clears a short."""
    for together in context.power.feed_groups:
        lines = [
            line
            for line in together
            if line.values["short_circuit_a"] == line.values["short_circuit_a"]
            and line.values["breaker_a"] != line.values["breaker_a"]
        ]
        if lines:
            lines.sort(key=lambda line: line.values["short_circuit_a"])
            fault = lines[0].values["short_circuit_a"]
            yield on_feeds(
                context,
                "feed-protection",
                CAUTION,
                lines,
                "part",
                f"least fault current {fault:.1f} A: the fuse or breaker (rating not known) must "
                "clear it",
                paths=paths_of(lines),
                remedy=ELECTRICIAN,
                value=fault,
                unit="A",
                source="Ohm's law, conductors at 70 °C",
            )


def protective_earth(context: Context) -> Iterator[Finding]:
    """feed-protection: a mains feed without an earth conductor."""
    for line in feeds(context):
        for row in line.rows if line.current == AC else ():
            conductors = getattr(row.part, "conductors", None)
            if conductors is None or conductors >= MAINS_CONDUCTORS:
                continue
            twin = earthed_twin(row.part, context.catalog)
            yield on_row(
                "feed-protection",
                FAIL,
                row.row,
                "part",
                f"{row.part.part} has {conductors:g} conductors, a mains feed has a protective "
                "earth besides",
                paths=line.link.paths,
                remedy=f"use {twin or 'a cable with three conductors'}; {ELECTRICIAN}",
                value=conductors,
                limit=MAINS_CONDUCTORS,
                unit=CONDUCTORS_UNIT,
                source="IEC 60364-4-41 clause 411.3.1",
                shared=row.part.part,
            )
