"""The breaker that an installer finds: a short trips it at once, and the run carries it.

A breaker of type B trips at once from 5 times its rating (IEC 60898-1:2015 Table 2).
"""

from pathlib import Path

import pytest

from backhaul.as_built.acceptance import accept
from backhaul.as_built.judged import GOOD, OFF
from backhaul.catalog import load_catalog
from backhaul.design.model import Reading
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.figures.reading_formulas import breaker_high_a


@pytest.mark.parametrize(
    ("rated_a", "fault_a", "designed_a", "highest_a"),
    [
        (45.0, 100.0, 16.0, 20.0),  # the short decides: 100 / 5
        (18.0, 100.0, 16.0, 18.0),  # the conductors decide
        (45.0, 50.0, 16.0, 16.0),  # the designed one is answered for
    ],
)
def test_highest_rating_by_hand(rated_a, fault_a, designed_a, highest_a):
    found = breaker_high_a(rated_a=rated_a, short_circuit_a=fault_a, breaker_a=designed_a)
    assert found == highest_a


@pytest.mark.parametrize(("breaker_a", "status"), [(16.0, GOOD), (20.0, GOOD), (25.0, OFF)])
def test_a_breaker_that_no_short_trips_is_off_on_its_card(breaker_a, status):
    """The least fault current of the feed is what its finding tells: five times 25 A are more."""
    catalog = load_catalog()
    design = read_design(Path(__file__).parents[2] / "demo" / "reservoir", catalog)
    results = evaluate(design, catalog, seek=False)
    (line,) = (each for each in results.power.lines if each.link.run.label == "crest-feed")
    fault_a, carried_a = (line.values[key] for key in ("short_circuit_a", "rated_a"))
    assert 5 * 20 < fault_a < 5 * 25 < 5 * carried_a
    key = "crest-feed.breaker"
    reading = Reading._make(None for _ in Reading._fields)._replace(
        site="Gatehouse", reading=key, value=breaker_a, unit="A"
    )
    found = accept(results, own=[reading])
    assert next(each.status for each in found.judged if each.reading.key == key) == status
