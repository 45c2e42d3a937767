"""What to confirm before ordering, ranked live: reserve of each margin in spreads of its figure.

Keys: `confirm.{n}.{name|label|basis|turns|move|reserve|order|rank|unit}` of figure n in the order of
`confirm_first`.
"""

from collections.abc import Sequence
from typing import Any

from backhaul.book.optical_keys import light_key
from backhaul.book.plan import Plan
from backhaul.book.us_sheet import measured
from backhaul.budgets.confirm import FARTHEST, Confirm, confirm_first
from backhaul.design.settings import US
from backhaul.figures.us_units import IN_US
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Link, Number, SheetCell, Text
from backhaul.spreadsheet.charts import BarsChart, Series
from backhaul.spreadsheet.grid import Content, Sheet

#: Figures that stand on At a glance, and are marked on Requirements; those that the chart shows.
SHOWN, IN_CHART = 5, 10
CHART_KEY = "confirm.chart"
#: Letters beside a bar; a longer label is cut by some programs.
_BESIDE_A_BAR = 36
#: Keeps two figures of one reserve apart when they are ranked.
_APART = "1E-9"


def lay_confirm(plan: Plan, sheet: Sheet) -> None:
    """Lay the ranking beside a sheet."""
    found = confirm_first(plan.evaluation)
    if not found:
        return
    for number, one in enumerate(found):
        measured(sheet, f"confirm.{number}.move", one.figure.unit)
    rows = [_row(plan, number, one, len(found)) for number, one in enumerate(found)]
    heads = ("figure", "basis", "turns", "off by", "spreads", "order", "rank", "name", "unit")
    sheet.helper("To confirm first", heads, rows)


def _row(plan: Plan, number: int, one: Confirm, count: int) -> Sequence[Content]:
    key = f"confirm.{number}"
    figure, margin = one.figure, one.margin
    others = f" and {len(one.others)} more of it" if one.others else ""
    move: SheetCell = Number(one.move, key=f"{key}.move")
    distance = _distance(plan, margin)
    if distance:
        text = f"({distance})/{abs(one.slope)!r}"
        # of a line that carries nothing no margin can be had: what was found stands
        text = f"IF(ISNUMBER({text}),{text},{one.move!r})"
        move = Calc(f"{key}.move", text, one.move)
    span = f"{{confirm.0.order}}:{{confirm.{count - 1}.order}}"
    return (
        Text(f"{figure.label} {figure.value:.4g} {figure.unit}{others}", key=f"{key}.label"),
        Text(f"{figure.basis}: ± {figure.spread:.2g} {figure.unit}", key=f"{key}.basis"),
        Text(f"{margin.label}; settled by: {figure.ask}", key=f"{key}.turns"),
        move,
        Calc(f"{key}.reserve", f"{{{key}.move}}/{figure.spread!r}", one.reserve),
        Calc(
            f"{key}.order",
            f"{{{key}.reserve}}+{number}*{_APART}",
            one.reserve + number * float(_APART),
        ),
        Calc(f"{key}.rank", f'COUNTIF({span},"<"&{{{key}.order}})+1', number + 1, format="0"),
        Text(_short(figure.label), key=f"{key}.name"),
        Text(figure.unit, key=f"{key}.unit"),
    )


def _shown(plan: Plan, one: Confirm) -> float:
    """By how much a figure may be wrong, in the unit that is shown."""
    unit = IN_US.get(one.figure.unit) if plan.evaluation.design.project.units == US else None
    return one.move if unit is None else one.move / unit.factor


def _distance(plan: Plan, margin: Any) -> str:
    """Formula text of the distance to the nearest edge, "" where no sheet holds the cells."""
    kind, *place = margin.cell
    evaluation = plan.evaluation
    if kind == "light":
        direction = evaluation.optical.directions[place[0]]
        if direction.link.key not in plan.anchors:
            return ""
        own, wanted = (light_key(direction, name) for name in place[1:])
        edges = [f"ABS({{{own}}})"]
        return _least([*edges, f"ABS({{{own}}}-{{{wanted}}})"] if place[2] else edges)
    if kind in ("air", "clear"):
        hop = place[0]
        if evaluation.radio.links[hop].key not in plan.anchors:
            return ""
        if kind == "air":
            cell = f"{{air.{hop}.{place[1]}.mode{place[2]}.margin_db}}"
        else:
            cell = f"{{air.{hop}.ratio_{place[1]}}}"
        return f"ABS({cell}-({place[-1]!r}))"
    if kind == "path":
        return _of_path(plan, *place)
    return _wired(plan, kind, place)


def _of_path(plan: Plan, path: str, way: str) -> str:
    demand, rate = (keys.get((path, way)) for keys in (plan.path_demands, plan.path_rates))
    headroom = "given.project.rate_headroom_percent"
    if demand is None or rate is None or headroom not in plan.inputs.rows:
        return ""
    return f"ABS({{{demand}}}-{{{rate}}}*(1-{{{headroom}}}/100))"


def _wired(plan: Plan, kind: str, place: Sequence[Any]) -> str:
    evaluation = plan.evaluation
    if kind == "copper":
        if evaluation.copper.links[place[0]].key not in plan.anchors:
            return ""
        return f"ABS({{copper.{place[0]}.length_m}}-{{copper.{place[0]}.limit_m}})"
    if not plan.link_verdicts.keys() & {line.link.key for line in evaluation.power.lines}:
        return ""
    if kind == "line":
        return f"ABS({{line.{place[0]}.load_v}}-{{line.{place[0]}.least_v}})"
    used, limit = (f"{{source.{place[0]}.{name}}}" for name in ("used_w", "limit_w"))
    kept = 1 - place[2] / 100
    return _least([f"ABS({used}-{limit})", f"ABS({used}-{limit}*{kept!r})"])


def _least(texts: Sequence[str]) -> str:
    return texts[0] if len(texts) == 1 else f"MIN({','.join(texts)})"


def write_confirm(plan: Plan, sheet: Sheet) -> None:
    """The figures that are the likeliest to turn a verdict, live, on nine columns."""
    found = confirm_first(plan.evaluation)
    if not found:
        return
    shown = min(SHOWN, len(found))
    sheet.blank()
    title = f"Confirm {'these ' + str(shown) if shown > 1 else 'this'} before ordering"
    sheet.row(Text(title, "heading", sheet.width - 1), Link("which matter most: chart", CHART_KEY))
    sheet.row(
        Text("Value in use", "head", 3),
        Text("Source and uncertainty", "head", 2),
        Text("If more than", "head right"),
        Text("is wrong", "head"),
        Text("this verdict changes", "head", 2),
    )
    for rank in range(1, shown + 1):
        one = found[rank - 1]

        def cell(name: str, value: Any, span: int, shown: str = "", rank=rank) -> Calc:
            return Calc(
                f"glance.confirm.{rank}.{name}",
                _ranked(name, rank, len(found)),
                value,
                format=shown,
                style="" if shown else "calc text",
                span=span,
            )

        row = _row(plan, rank - 1, one, len(found))
        sheet.row(
            cell("label", row[0].text, 3),
            cell("basis", row[1].text, 2),
            cell("move", _shown(plan, one), 1, "0.00"),
            cell("unit", row[8].text, 1),
            cell("turns", row[2].text, 2),
        )


def _short(label: str) -> str:
    """A label that finds room beside a bar.

    >>> _short("1000base-lx10: launch, lowest"), _short("a-cable: resistance, and length of its runs")
    ('1000base-lx10: launch, lowest', 'a-cable: resistance')
    """
    return label if len(label) <= _BESIDE_A_BAR else label.rpartition(",")[0] or label


def _ranked(name: str, rank: int, count: int) -> str:
    """Formula text of what the figure of a rank says."""
    span, ranks = (
        f"{{confirm.0.{each}}}:{{confirm.{count - 1}.{each}}}" for each in (name, "rank")
    )
    return f"INDEX({span},MATCH({rank},{ranks},0))"


def confirm_count(plan: Plan) -> int:
    """How many figures the chart shows."""
    return min(IN_CHART, len(confirm_first(plan.evaluation)))


def confirm_bars(plan: Plan, sheet: Sheet) -> BarsChart:
    """Reserves of the figures that matter most, by rank, live: the shortest bar turns first."""
    found = confirm_first(plan.evaluation)
    rows = [
        (
            Calc(
                f"{CHART_KEY}.{rank}.name",
                _ranked("name", rank, len(found)),
                _short(one.figure.label),
            ),
            Calc(
                f"{CHART_KEY}.{rank}.reserve",
                f"MIN({_ranked('reserve', rank, len(found))},{FARTHEST:g})",
                min(one.reserve, FARTHEST),
                format="0.0",
            ),
        )
        for rank, one in enumerate(found[:IN_CHART], 1)
    ]
    names, reserves = sheet.helper("Chart: what to confirm first", ("figure", "spreads"), rows)
    text = "; ".join(f"{one.figure.label} {one.reserve:.1f}" for one in found[:IN_CHART])
    axis = Axis("", least=0.0, most=FARTHEST, step=1.0, format="0")
    bars = [Series("spreads", reserves)]
    return BarsChart("", names, bars, axis, f"{text} spreads", legend=False, figures=True)


def confirm_mark(plan: Plan, family: str, part: str, column: str) -> SheetCell:
    """The rank of a figure that is to be confirmed, live; nothing beyond those that are shown."""
    for number, one in enumerate(confirm_first(plan.evaluation)):
        figure = one.figure
        if (figure.family, figure.name) == (family, part) and column in (
            figure.column,
            *one.others,
        ):
            rank = f"{{confirm.{number}.rank}}"
            value = number + 1 if number < SHOWN else ""
            key = f"confirm.mark.{family}.{part}.{column}"
            return Calc(key, f'IF({rank}<={SHOWN},{rank},"")', value, format='"no. "0')
    return Text("")
