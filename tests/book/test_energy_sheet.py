"""Energy of batteries and panels on Copper and supply: what is typed is what is evaluated anew.

The reference is our own evaluation of the changed design, whose steps are held to the published
worksheet in tests/physics; a second engine does the recalculation. The design is invented.
"""

import book_formulas
import pytest
import recalculation
from small_designs import SITES, Typed, changed_catalog, evaluated, rows

from backhaul.budgets.energy import energy_balances
from backhaul.evaluation import evaluate
from backhaul.report.record import record

SUN = "solar-24v-60w"
LOAD = "router-ind"
FIGURES = (
    "load_w",
    "duty_percent",
    "use_percent",
    "day_wh",
    "autonomy_days",
    "wanted_days",
    "sun_hours",
    "solar_w",
    "panel_needed_w",
)


def design(duty="60"):
    return rows(
        "p",
        f"device {SUN} site=tower label=SUN",
        "feed 2.5mm2-out site=tower to_site=tower length_m=20 route=indoor",
        f"device {LOAD} site=tower label=LOAD duty_percent={duty}",
    )


def run(folder, sun="1.5", project=None, catalogs=(), duty="60", coldest="-5"):
    tower = {"sun_hours": sun, "ambient_min_c": coldest}
    sites = [site | (tower if site["site"] == "tower" else {}) for site in SITES]
    return evaluated(folder, design(duty), sites=sites, project=project, catalogs=catalogs)


@pytest.fixture(scope="module")
def cold(tmp_path_factory):
    """A battery that says what the cold takes."""
    folder = tmp_path_factory.mktemp("cold")
    return changed_catalog(folder, "devices", SUN, battery_cold_percent_k=0.4)


@pytest.fixture(scope="module")
def book(tmp_path_factory, cold):
    evaluation = run(tmp_path_factory.mktemp("energy") / "design", catalogs=(cold,))
    return Typed(evaluation, "copper_and_supply", "chain", "site_cards", "inputs")


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
    ({"given.label.LOAD.duty_percent": 15.0}, {"duty": "15"}),
    ({"given.site.tower.ambient_min_c": -15.0}, {"coldest": "-15"}),
]


@pytest.mark.parametrize(("typed", "changes"), CHANGES, ids=lambda given: str(given)[:50])
def test_typing_is_evaluating_anew(book, cold, typed, changes, tmp_path):
    changes = {"catalogs": (cold,)} | changes
    catalog = changes.pop("catalog", None)
    if catalog:
        part, figures = catalog
        if part == SUN:
            figures = {"battery_cold_percent_k": 0.4} | figures
        changes["catalogs"] = (cold, changed_catalog(tmp_path / "c", "devices", part, **figures))
    changed = run(tmp_path / "design", **changes)
    (balance,) = energy_balances(changed.context.sources, changed.design, changed.power)
    found = book.typed(typed)
    (key,) = [
        name
        for name in book.layout.spots
        if name.startswith("energy") and name.endswith(".panel_needed_w")
    ]
    prefix = key.removesuffix("panel_needed_w")
    for name in FIGURES:
        assert found[prefix + name] == pytest.approx(getattr(balance, name), rel=1e-9), name
    assert found[f"{prefix}verdict"] == ("thin" if balance.is_short else "pass")
    on_card = [name for name in book.layout.spots if name.startswith("card") and ".energy." in name]
    assert len(on_card) == 5  # what the card of the site says
    for name in on_card:
        expected = getattr(balance, name.rpartition(".")[2])
        assert found[name] == pytest.approx(expected, rel=1e-9), name
    assert found["chain.p.verdict"] == changed.path_verdicts["p"]


def test_both_words_are_met(tmp_path):
    """The changes above reach either side of the limit."""
    words = set()
    for number, sun in enumerate(("0.4", "5")):
        changed = run(tmp_path / str(number), sun=sun)
        (balance,) = energy_balances(changed.context.sources, changed.design, changed.power)
        words.add(balance.word)
    assert words == {"thin", "pass"}


def test_loads_weigh_by_their_watts(tmp_path):
    """10 W all day and 30 W in a tenth of it: (10 + 3) / 40 is 32.5 % of the time, by hand."""
    heater = "switch-ind-5-1g"
    catalogs = [
        changed_catalog(tmp_path / part, "devices", part, watts=watts)
        for part, watts in ((LOAD, 10.0), (heater, 30.0))
    ]
    lines = ("feed 2.5mm2-out site=tower to_site=tower length_m=20 route=indoor",)
    table = [
        *rows("p", f"device {SUN} site=tower label=SUN", *lines, f"device {LOAD} site=tower"),
        *rows(
            "q",
            f"device {SUN} site=tower label=SUN",
            *lines,
            f"device {heater} site=tower duty_percent=10",
        ),
    ]
    evaluation = evaluated(tmp_path / "d", table, sites=SITES, catalogs=catalogs)
    (balance,) = energy_balances(evaluation.context.sources, evaluation.design, evaluation.power)
    assert balance.duty_percent == pytest.approx(32.5)
    assert balance.day_wh == pytest.approx(balance.load_w * 24 * 0.325)


def test_a_larger_source_is_named_where_one_settles_it(tmp_path):
    evaluation = run(tmp_path / "d", sun="0.5")
    scene = [f for f in evaluation.findings if f.check == "supply-reserve"]
    assert [f.severity for f in scene] == ["thin"]
    settled = evaluate(evaluation.design, evaluation.catalog, remedies=True)
    (found,) = [f for f in settled.findings if f.check == "supply-reserve"]
    assert [(edit.column, edit.to) for edit in found.edits] == [("part", "solar-24v-150w")]


def test_the_record_tells_what_a_day_takes(tmp_path):
    (told,) = record(run(tmp_path / "d"))["energy"]
    assert told["day_wh"] == pytest.approx(told["load_w"] * 24 * 0.6)
    assert told["day_depth_percent"] == pytest.approx(100 * told["day_wh"] / told["battery_wh"])
    assert told["verdict"] == "pass" and told["missing"] == []


def test_a_battery_without_volts_says_so(tmp_path):
    blank = dict.fromkeys(("output_volts", "output_min_volts", "output_max_volts"))
    parts = changed_catalog(tmp_path / "parts", "devices", SUN, **blank)
    evaluation = run(tmp_path / "d", catalogs=(parts,))
    (told,) = [f for f in evaluation.findings if "energy not judged" in f.message]
    assert "output_volts" in told.message and told.remedy == "fill output_volts"
    assert record(evaluation)["energy"][0]["missing"] == ["output_volts"]
