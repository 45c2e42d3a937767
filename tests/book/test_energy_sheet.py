"""Energy of batteries and panels on Copper and supply: what is typed is what is evaluated anew.

The reference is our own evaluation of the changed design, whose steps are held to the published
worksheet in tests/physics; a second engine does the recalculation. The design is invented.
"""

import book_formulas
import pytest
import recalculation
from small_designs import SITES, Typed, changed_catalog, evaluated, rows

from backhaul.budgets.energy import energy_balances

SUN = "solar-24v-60w"
LOAD = "router-ind"
FIGURES = (
    "load_w",
    "day_wh",
    "autonomy_days",
    "wanted_days",
    "sun_hours",
    "solar_w",
    "panel_needed_w",
)


def design():
    return rows(
        "p",
        f"device {SUN} site=tower label=SUN",
        "feed 2.5mm2-out site=tower to_site=tower length_m=20 route=indoor",
        f"device {LOAD} site=tower label=LOAD",
    )


def run(folder, sun="1.5", project=None, catalogs=()):
    sites = [site | ({"sun_hours": sun} if site["site"] == "tower" else {}) for site in SITES]
    return evaluated(folder, design(), sites=sites, project=project, catalogs=catalogs)


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    evaluation = run(tmp_path_factory.mktemp("energy") / "design")
    return Typed(evaluation, "copper_and_supply", "chain", "inputs")


def test_a_second_engine_computes_what_is_stored(book):
    assert not recalculation.compare(book.data)
    assert not book_formulas.empty_references(book.data)


CHANGES = [
    ({}, {}),
    ({"given.site.tower.sun_hours": 0.4}, {"sun": "0.4"}),
    ({"given.site.tower.sun_hours": 5.0}, {"sun": "5"}),
    ({"given.project.autonomy_days": 30.0}, {"project": {"autonomy_days": "30"}}),
    ({f"given.devices.{SUN}.battery_wh": 100.0}, {"catalog": (SUN, {"battery_wh": 100.0})}),
    ({f"given.devices.{SUN}.solar_w": 40.0}, {"catalog": (SUN, {"solar_w": 40.0})}),
    (
        {f"given.devices.{SUN}.battery_use_percent": 5.0},
        {"catalog": (SUN, {"battery_use_percent": 5.0})},
    ),
    ({f"given.devices.{LOAD}.watts": 30.0}, {"catalog": (LOAD, {"watts": 30.0})}),
]


@pytest.mark.parametrize(("typed", "changes"), CHANGES, ids=lambda given: str(given)[:50])
def test_typing_is_evaluating_anew(book, typed, changes, tmp_path):
    changes = dict(changes)
    catalog = changes.pop("catalog", None)
    if catalog:
        part, figures = catalog
        changes["catalogs"] = (changed_catalog(tmp_path / "c", "devices", part, **figures),)
    changed = run(tmp_path / "design", **changes)
    (balance,) = energy_balances(changed.context.sources, changed.design)
    found = book.typed(typed)
    (key,) = [name for name in book.layout.spots if name.endswith(".panel_needed_w")]
    prefix = key.removesuffix("panel_needed_w")
    for name in FIGURES:
        assert found[prefix + name] == pytest.approx(getattr(balance, name), rel=1e-9), name
    assert found[f"{prefix}verdict"] == ("thin" if balance.is_short else "pass")
    assert found["chain.p.verdict"] == changed.path_verdicts["p"]


def test_both_words_are_met(tmp_path):
    """The changes above reach either side of the limit."""
    words = set()
    for number, sun in enumerate(("0.4", "5")):
        changed = run(tmp_path / str(number), sun=sun)
        (balance,) = energy_balances(changed.context.sources, changed.design)
        words.add(balance.word)
    assert words == {"thin", "pass"}
