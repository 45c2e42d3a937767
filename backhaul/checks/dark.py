"""Which paths a line of power takes down when it fails."""

from collections.abc import Iterable

from backhaul.budgets.power import dark_with
from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.context import Context
from backhaul.findings import FAIL, Finding
from backhaul.path.equipment import Equipment


def paths_behind(context: Context, line: PowerLine) -> tuple[str, ...]:
    """Paths over a line and through everything that is dark when it fails."""
    return paths_without(context, line.link.paths, line.equipment)


def paths_behind_all(context: Context, lines: Iterable[PowerLine]) -> tuple[str, ...]:
    """Paths that any of several lines takes down."""
    return tuple(dict.fromkeys(path for line in lines for path in paths_behind(context, line)))


def paths_without(
    context: Context, first: tuple[str, ...], all_equipment: Iterable[Equipment]
) -> tuple[str, ...]:
    """The first paths, then those through the things and through what they feed."""
    dark = (
        path
        for equipment in dark_with(context.power, list(all_equipment))
        for path in equipment.paths
    )
    return tuple(dict.fromkeys((*first, *dark)))


def lines_on(context: Context) -> dict[int, list[PowerLine]]:
    """Lines of power by the rows of their links and of their sources."""
    found: dict[int, list[PowerLine]] = {}
    for line in context.power.lines:
        for row in {*line.link.row_ids, *line.source.equipment.row_ids}:
            found.setdefault(row, []).append(line)
    return found


#: Checks of a feed, or of what feeds others, that name the paths of the thing alone.
OF_THE_THING = frozenset(("feed-protection", "temperature"))


def with_what_is_fed(context: Context, findings: Iterable[Finding]) -> list[Finding]:
    """Findings with the paths through what a failing feed or source feeds: they fail with it."""
    on_row = lines_on(context)

    def of(finding: Finding) -> Finding:
        if finding.severity != FAIL or finding.check not in OF_THE_THING:
            return finding
        lines = [line for row in finding.rows for line in on_row.get(row, ())]
        fed = [equipment for line in lines for equipment in line.equipment]
        return (
            finding._replace(paths=paths_without(context, finding.paths, fed)) if fed else finding
        )

    return [of(finding) for finding in findings]


def missing_figure(values) -> str:
    """Which figure of a line is not known."""
    for key, what in (
        ("load_w", "the watts of the load are not known"),
        ("source_v", "the voltage of the source is not known"),
        ("loop_ohm", "the length of the run or the resistance of its conductors is not known"),
        ("seen_ohm", "what flows in the run that it shares is not known"),
    ):
        if values[key] != values[key]:
            return what
    return "a figure is missing"
