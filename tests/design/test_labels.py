"""Rows with one label are one thing; the rules stand in the project's contract, "A design"."""

import pytest

from backhaul.design.read import read_design
from backhaul.errors import InputError

FIBER = {
    "kind": "fiber",
    "site": "A",
    "to_site": "B",
    "part": "os2-12",
    "length_m": 100,
    "strand": "1",
    "label": "F",
}
HOP = {
    "kind": "radio",
    "site": "A",
    "to_site": "B",
    "part": "radio-60",
    "to_part": "radio-5",
    "height_m": 4,
    "to_height_m": 9,
    "frequency_ghz": 5.8,
    "to_frequency_ghz": 5.7,
    "label": "H",
}
TURNED = {
    "site": "B",
    "to_site": "A",
    "part": "radio-5",
    "to_part": "radio-60",
    "height_m": 9,
    "to_height_m": 4,
    "frequency_ghz": 5.7,
    "to_frequency_ghz": 5.8,
}
TERMINAL = {"kind": "radio", "label": "H", "site": "A", "part": "radio-60"}

AGREE = {
    "other strand": (FIBER, FIBER | {"strand": "2/3"}),
    "other note": (FIBER, FIBER | {"note": "duct 4"}),
    "ends the other way round": (FIBER, FIBER | {"site": "B", "to_site": "A"}),
    "blank count is one": (
        {"kind": "splice", "part": "fusion", "label": "S"},
        {"kind": "splice", "part": "fusion", "label": "S", "count": 1},
    ),
    "hop the other way round": (HOP, HOP | TURNED),
    "blank far part is the same part": (HOP | {"to_part": None}, HOP | {"to_part": "radio-60"}),
    "port": (
        {"kind": "device", "site": "A", "part": "camera", "label": "C"},
        {"kind": "device", "site": "A", "part": "camera", "label": "C", "note": "x"},
    ),
    "terminal at the first end": (HOP, TERMINAL),
    "terminal at the far end": (TERMINAL | {"site": "B", "part": "radio-5"}, HOP),
    "terminal with other columns": (HOP, TERMINAL | {"height_m": 77, "by": "client"}),
    "terminals without their hop": (TERMINAL, TERMINAL),
}

DISAGREE = {
    "length": (FIBER, FIBER | {"length_m": 101}, ["3 length_m: found '101'", "2 length_m '100'"]),
    "blank length": (HOP | {"length_m": 10}, HOP, ["3 length_m: found a blank"]),
    "part": (FIBER, FIBER | {"part": "os2-24"}, ["3 part: found 'os2-24'", "'os2-12'"]),
    "end": (FIBER, FIBER | {"to_site": "C"}, ["3 to_site: found 'C'", "2 to_site 'B'"]),
    "end of a turned row": (
        FIBER,
        FIBER | {"site": "C", "to_site": "A"},
        ["3 site: found 'C'", "2 to_site 'B'"],
    ),
    "provider": (FIBER, FIBER | {"by": "client"}, ["3 by: found 'client'", "a blank"]),
    "count": (
        {"kind": "splice", "part": "fusion", "label": "S"},
        {"kind": "splice", "part": "fusion", "label": "S", "count": 2},
        ["3 count"],
    ),
    "kind": (
        FIBER,
        {"kind": "splice", "part": "fusion", "label": "F"},
        ["3 kind: found a splice labelled 'F', at segments.csv:2 kind a fiber"],
    ),
    "height of a turned hop": (
        HOP,
        HOP | TURNED | {"to_height_m": 5},
        ["3 to_height_m: found '5'", "2 height_m '4'"],
    ),
    "terminal of another part": (
        HOP,
        TERMINAL | {"part": "radio-5"},
        ["3 part: found 'radio-5' for the terminal", "'radio-60'"],
    ),
    "far terminal of another part": (
        HOP,
        TERMINAL | {"site": "B"},
        ["3 part", "2 to_part 'radio-5'"],
    ),
    "terminal elsewhere": (HOP, TERMINAL | {"site": "C"}, ["3 site: found 'C'", "A or B"]),
    "two terminals": (TERMINAL, TERMINAL | {"part": "radio-5"}, ["3 part: found 'radio-5'"]),
}


def source_of(tmp_path, forms, rows):
    names = list(dict.fromkeys(name for row in rows for name in row))
    rows = [
        {"path": f"p{n}", "step": n} | {name: row.get(name) for name in names}
        for n, row in enumerate(rows)
    ]
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(rows).replace("None", ""), "utf-8")
    return source


@pytest.mark.parametrize("rows", AGREE.values(), ids=AGREE)
def test_one_thing(tmp_path, forms, catalog, rows):
    assert len(read_design(source_of(tmp_path, forms, rows), catalog).segments) == 2


@pytest.mark.parametrize("case", DISAGREE.values(), ids=DISAGREE)
def test_contradiction(tmp_path, forms, problems_of, case):
    *rows, fragments = case
    message = problems_of(source_of(tmp_path, forms, rows))
    for fragment in fragments:
        assert fragment in message
    assert len(message.splitlines()) == 1


def test_a_cell_that_cannot_be_read_is_not_compared(tmp_path, forms, catalog):
    source = source_of(tmp_path, forms, (FIBER, FIBER | {"length_m": "100 m"}))
    with pytest.raises(InputError) as caught:
        read_design(source, catalog)
    assert len(caught.value.problems) == 1
