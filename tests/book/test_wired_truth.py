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


FACTORS = (0.3, 0.9, 1.15, 2.5, 12.0)


def test_typing_is_evaluating_anew(whole, tmp_path):
    evaluation, plan, book = whole
    wrong = []
    tried = 0
    for number, (key, given) in enumerate(plan.inputs.rows.items()):
        if not isinstance(given.value, int | float):
            continue
        for factor in FACTORS:
            value = round(given.value * factor, 6) if given.value else factor
            change = change_of(key, value)
            if change is None:
                continue
            anew = evaluated_with(tmp_path / f"{number}-{factor}", change)
            if anew is None:
                continue
            tried += 1
            found = book.typed({key: value})
            for link, other in zip(links_of(evaluation), links_of(anew), strict=True):
                prefix = plan.link_verdicts[link.key][0]
                if found[prefix] != anew.link_verdict(other):
                    wrong.append((key, value, str(link), found[prefix], anew.link_verdict(other)))
    assert tried > 100
    assert not wrong
