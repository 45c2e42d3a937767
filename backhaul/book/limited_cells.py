"""Yellow cells beside Inputs and Alternatives: what lies outside their limits is of no use, pasted too."""

from collections.abc import Iterator, Sequence

from backhaul.book.plan import Plan, StateRange
from backhaul.spreadsheet.cells import Calc, Input, Text, ToFill
from backhaul.spreadsheet.grid import Content, Sheet

#: Sheets whose yellow cells count in what is ordered.
LIMITED = ("Order list", "Cable lengths")


def limited_text(cells: Sequence[Content], *, usable: int, useless: int) -> str:
    """Formula text of the state of a row of cells; "" where none has a limit.

    Words in place of a figure that counts are of no use; a price may be said in words.

    >>> limited_text([Input("a", 1, least=0, most=9, whole=True)], usable=0, useless=3)
    'IF(AND(IF(ISNUMBER({a}),AND({a}>=0,{a}<=9,{a}=INT({a})),{a}="")),0,3)'
    >>> limited_text([ToFill("p", least=0)], usable=0, useless=3)
    'IF(AND(IF(ISNUMBER({p}),AND({p}>=0),TRUE)),0,3)'
    """
    tests = ",".join(map(_test, filter(_is_limited, cells)))
    return f"IF(AND({tests}),{usable},{useless})" if tests else ""


def _is_limited(cell: Content) -> bool:
    return isinstance(cell, Input | ToFill) and (cell.least, cell.most) != (None, None)


def _test(cell: Input | ToFill) -> str:
    name = f"{{{cell.key}}}"
    inside = [f"{name}>={cell.least!r}"] if cell.least is not None else []
    inside += [f"{name}<={cell.most!r}"] if cell.most is not None else []
    inside += [f"{name}=INT({name})"] if cell.whole else []
    otherwise = f'{name}=""' if isinstance(cell, Input) else "TRUE"
    return f"IF(ISNUMBER({name}),AND({','.join(inside)}),{otherwise})"


def lay_limited(plan: Plan, sheet: Sheet, *, usable: int, useless: int) -> None:
    """States of the rows of a sheet, counted with those of the inputs."""
    rows = list(_rows(sheet, usable, useless))
    if rows:
        sheet.helper("State of what is typed", ("row", "state"), rows)
        (first_label, first), (last_label, last) = rows[0], rows[-1]
        plan.states.append(StateRange(first.key, last.key, first_label.key, last_label.key))


def _rows(sheet: Sheet, usable: int, useless: int) -> Iterator[tuple[Text, Calc]]:
    for number, row in enumerate(sheet.rows, 1):
        if text := limited_text(row.cells, usable=usable, useless=useless):
            key = f"{sheet.name}.{number}"
            label = Text(f"{sheet.name}, row {number}", "helper head", key=f"state.label.{key}")
            yield label, Calc(f"state.{key}", text, usable, format="0")
