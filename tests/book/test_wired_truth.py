"""Copper and supply say one thing: evaluated, written down, recalculated after typing.

Every column of the wired catalogues and of the design is blanked in turn, every yellow cell typed
over; a second engine recalculates. The design is invented.
"""

import pytest
import recalculation
from wired_designs import (
    FAMILIES,
    Change,
    book_of,
    change_of,
    evaluated_with,
)

from backhaul.book.plan import Plan
from backhaul.book.sheets import copper_and_supply
from backhaul.findings import worst
from backhaul.report.record import record

COLUMNS = [
    (family.file.removesuffix(".csv"), column.name)
    for family in FAMILIES
    for column in family.columns
    if not column.required and column.name not in ("part", "description", "source", "basis")
]
DESIGN_COLUMNS = [
    *(("segments", name) for name in ("length_m", "cable_temperature_c", "route", "site")),
    *(("segments", name) for name in ("to_site", "label")),
    *(("sites", name) for name in ("ambient_max_c", "ambient_min_c", "outdoor", "latitude")),
]


def links_of(evaluation):
    return (*evaluation.network.links["copper"], *evaluation.network.links["feed"])


@pytest.mark.parametrize(("table", "column"), [*COLUMNS, *DESIGN_COLUMNS])
def test_a_blank_column_is_told_alike(table, column, tmp_path):
    evaluation = evaluated_with(tmp_path, Change(table, {}, column, ""))
    if evaluation is None:
        pytest.skip("cannot be read without it")
    book = book_of(evaluation)
    plan = Plan(evaluation)
    copper_and_supply.build(plan)
    for link in links_of(evaluation):
        assert plan.link_verdicts[link.key][1] == evaluation.link_verdict(link), link
    assert not recalculation.compare(book.data)
    for path in record(evaluation)["paths"]:
        for link, use in zip(path["links"], evaluation.network.uses[path["path"]], strict=True):
            assert worst((link["verdict"], plan.link_verdicts[use.link.key][1])) == link["verdict"]


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    evaluation = evaluated_with(tmp_path_factory.mktemp("wired"))
    plan = Plan(evaluation)
    copper_and_supply.build(plan)
    return evaluation, plan, book_of(evaluation)


#: By turns, so that figures pass limits from both sides.
FACTORS = (0.3, 2.5)
#: Parts are judged by the air around them when a design is evaluated; the book states that.
STATED = ("ambient_max_c",)
_PIECES = 4


@pytest.mark.parametrize("piece", range(_PIECES))
def test_typing_is_evaluating_anew(whole, piece, tmp_path):
    evaluation, plan, book = whole
    wrong, tried = [], 0
    for number, (key, given) in enumerate(plan.inputs.rows.items()):
        if number % _PIECES != piece or key.endswith(STATED):
            continue
        value = round(float(given.value) * FACTORS[number // _PIECES % 2], 6) or 1.0
        change = change_of(key, value)
        anew = evaluated_with(tmp_path / str(number), change) if change else None
        if anew is None:
            continue
        tried += 1
        found = book.typed({key: value})
        for link, other in zip(links_of(evaluation), links_of(anew), strict=True):
            shown, judged = found[plan.link_verdicts[link.key][0]], anew.link_verdict(other)
            if shown != judged:
                wrong.append((key, value, str(link), shown, judged))
    assert tried > 10
    assert not wrong
