"""Functions over many cells: neighbours become ranges, and no function gets too many arguments.

A spreadsheet function takes 255 arguments, as the vendors of spreadsheet programs state (from
memory). SUM, MIN, MAX and COUNT read a range as they read its cells one by one.
"""

import re
from itertools import groupby

MAX_ARGUMENTS = 255
#: Lists of fewer cells stay as they were written.
MANY = 30
_GROUP = 200
_SHEET, _COLUMN = r"(?:'(?:[^']|'')+'!|\w+!)?", "[A-Z]{1,3}"
_CELL = rf"{_SHEET}{_COLUMN}\d+"
_LIST = re.compile(rf"\b(SUM|MIN|MAX|COUNT)\(({_CELL}(?:,{_CELL}){{{MANY - 1},}})\)")
_PARTS = re.compile(rf"({_SHEET})({_COLUMN})(\d+)")


def shortened(formula: str) -> str:
    """A formula with its long lists of cells as ranges, and in groups where they are still long.

    >>> shortened("2*SUM(" + ",".join(f"B{row}" for row in range(3, 40)) + ")")
    '2*SUM(B3:B39)'
    """
    return _LIST.sub(_shorter, formula) if formula.count(",") >= MANY - 1 else formula


def _shorter(match: re.Match) -> str:
    function, cells = match[1], _cells(match[2])
    places = [(sheet, column, row - place) for place, (sheet, column, row) in enumerate(cells)]
    texts, start = [], 0
    for _, run in groupby(places):
        count = len(list(run))
        sheet, column, row = cells[start]
        end = f":{column}{row + count - 1}" if count > 1 else ""
        texts.append(f"{sheet}{column}{row}{end}")
        start += count
    if len(texts) <= _GROUP:
        return f"{function}({','.join(texts)})"
    groups = [
        f"{function}({','.join(texts[first : first + _GROUP])})"
        for first in range(0, len(texts), _GROUP)
    ]
    return f"{'SUM' if function == 'COUNT' else function}({','.join(groups)})"


def _cells(text: str) -> list[tuple[str, str, int]]:
    found = []
    for sheet, column, row in _PARTS.findall(text):
        found.append((sheet, column, int(row)))
    return found


def most_arguments(formula: str) -> int:
    """The largest number of arguments of a function in a formula.

    >>> most_arguments('IF(OR(A1="a,b",A2=1),1,MIN(A1,A2))')
    3
    """
    most, open_calls, in_text = 0, [], False
    for sign in formula:
        if sign == '"':
            in_text = not in_text
        elif in_text:
            continue
        elif sign == "(":
            open_calls.append(1)
        elif sign == "," and open_calls:
            open_calls[-1] += 1
        elif sign == ")" and open_calls:
            most = max(most, open_calls.pop())
    return most
