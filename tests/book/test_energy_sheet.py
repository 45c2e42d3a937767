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
    "night_percent",
    "autonomy_days",
    "wanted_days",
    "sun_hours",
    "solar_w",
    "panel_needed_w",
)


def design(duty="60", night="80"):
    return rows(
        "p",
        f"device {SUN} site=tower label=SUN",
        "feed 2.5mm2-out site=tower to_site=tower length_m=20 route=indoor",
        f"device {LOAD} site=tower label=LOAD duty_percent={duty} night_percent={night}",
    )


def run(folder, sun="1.5", project=None, catalogs=(), duty="60", coldest="-5", night="80"):
    tower = {"sun_hours": sun, "ambient_min_c": coldest}
    sites = [site | (tower if site["site"] == "tower" else {}) for site in SITES]
    return evaluated(folder, design(duty, night), sites=sites, project=project, catalogs=catalogs)


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
    ({"given.label.LOAD.night_percent": 95.0}, {"night": "95"}),
    ({"given.label.LOAD.night_percent": 0.0}, {"night": "0"}),
    ({"given.label.LOAD.night_percent": 47.0}, {"night": "47"}),
    (
        {"given.label.LOAD.night_percent": 20.0, "given.label.LOAD.duty_percent": 100.0},
        {"night": "20", "duty": "100"},
    ),
    (
        {"given.label.LOAD.night_percent": 20.0, "given.project.autonomy_days": 0.1},
        {"night": "20", "project": {"autonomy_days": "0.1"}},
    ),
    ({"given.project.autonomy_days": 0.1}, {"project": {"autonomy_days": "0.1"}}),
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
    assert "output_volts" in told.message and told.remedy.startswith("fill output_volts of ")
    assert record(evaluation)["energy"][0]["missing"] == ["output_volts"]


def test_the_night_must_be_carried(tmp_path):
    """A lamp that burns in the dark alone, by hand: 40 W behind 24 V, a third of the day, is all
    night energy, so the battery needs one day's worth however few days the project asks for."""
    few = {"autonomy_days": "0.2"}
    lamp = design("33", night="100")
    sites = [site | {"sun_hours": "5", "ambient_min_c": "25"} for site in SITES]
    small = changed_catalog(tmp_path / "c", "devices", SUN, battery_wh=60.0)
    found = {}
    for name, table in (("even", design("33", night="")), ("lamp", lamp)):
        evaluation = evaluated(tmp_path / name, table, sites=sites, project=few, catalogs=(small,))
        (balance,) = energy_balances(
            evaluation.context.sources, evaluation.design, evaluation.power
        )
        found[name] = balance, [f for f in evaluation.findings if f.check == "supply-reserve"]
    lamp_balance, findings = found["lamp"]
    assert lamp_balance.night_percent == 100
    assert lamp_balance.wanted_days == 1.0
    assert lamp_balance.night_wh == lamp_balance.day_wh
    assert lamp_balance.autonomy_days < 1.0  # the battery was chosen so
    assert [f.severity for f in findings] == ["thin"]
    assert "the night alone takes 1" in findings[0].message
    even, _ = found["even"]  # the longest night at 52.1° N has 16.5 h
    assert even.wanted_days == pytest.approx(16.5 / 24, abs=0.003)


def test_energy_by_load_adds_up(tmp_path):
    """By hand: 10 W all day, seven tenths dark, and a lamp of 30 W in a tenth of the day, all dark."""
    lamp = "switch-ind-5-1g"
    catalogs = [
        changed_catalog(tmp_path / part, "devices", part, watts=watts)
        for part, watts in ((LOAD, 10.0), (lamp, 30.0))
    ]
    line = "feed 2.5mm2-out site=tower to_site=tower length_m=20 route=indoor"
    sun = f"device {SUN} site=tower label=SUN"
    table = [
        *rows("p", sun, line, f"device {LOAD} site=tower night_percent=70"),
        *rows("q", sun, line, f"device {lamp} site=tower duty_percent=10 night_percent=100"),
    ]
    sites = [site | {"sun_hours": "3"} for site in SITES]
    evaluation = evaluated(tmp_path / "d", table, sites=sites, catalogs=catalogs)
    (found,) = record(evaluation)["energy"]
    steady, burning = sorted(found["loads"], key=lambda load: load["load_w"])
    assert steady["load_w"] + burning["load_w"] == pytest.approx(found["load_w"])
    assert burning["load_w"] == pytest.approx(3 * steady["load_w"])
    assert steady["day_wh"] == pytest.approx(24 * steady["load_w"])
    assert burning["day_wh"] == pytest.approx(2.4 * burning["load_w"])
    assert steady["night_wh"] == pytest.approx(0.7 * steady["day_wh"])
    assert burning["night_wh"] == burning["day_wh"]
    for name in ("day_wh", "night_wh"):
        assert steady[name] + burning[name] == pytest.approx(found[name])
    # (10 x 70 + 3 x 100) / 13
    assert found["night_percent"] == pytest.approx(76.923, abs=0.001)


@pytest.mark.parametrize(
    ("duty", "night", "judged"),
    [
        ("100", "20", 68.8),  # all day: all of the night; 16.5 h of 24 at 52.1° N
        ("50", "0", 37.6),  # 12 h on, 7.49 h of light: 4.51 h of 12
        ("50", "37", 37.6),
        ("50", "38", 38.0),
        ("31", "0", 0.0),  # 7.44 h fit into the light
        ("33", "0", 5.45),  # 7.92 h do not: 0.43 h of them
        ("100", "100", 100.0),
        ("0", "0", 0.0),
    ],
)
def test_what_is_on_for_longer_than_the_light_is_on_in_the_dark(duty, night, judged, tmp_path):
    """By hand, from 24 arccos(tan 52.1° tan 23.44°) / 180° = 7.49 h of light."""
    evaluation = run(tmp_path / "d", duty=duty, night=night)
    (balance,) = energy_balances(evaluation.context.sources, evaluation.design, evaluation.power)
    notes = [f for f in evaluation.findings if "taken in the dark at the least" in f.message]
    (found,) = record(evaluation)["energy"]
    if duty != "0":
        assert balance.night_percent == pytest.approx(judged, abs=0.15)
        assert found["night_percent"] == balance.night_percent
        (load,) = found["loads"]
        assert load["night_wh"] == pytest.approx(load["day_wh"] * balance.night_percent / 100)
    assert [f.severity for f in notes] == ["note"] * (judged > float(night))
    for note in notes:
        assert "7.5 h of light" in note.message and f"not {night} %" in note.message
        assert note.value == pytest.approx(judged, abs=0.15)


def test_the_longest_night():
    """Sunset to sunrise on the winter solstice: almanacs give a day of 7 h 50 min for London
    (51.5° N) and 5 h 52 min for Oslo (59.9° N), from memory. Almanacs count from 0.833° below the
    horizon, which is 2 x 0.833 / (15 cos(latitude) cos(23.44) sin(w)) h more: 0.23 and 0.36 h by
    hand. On the equator the night is 12 h."""
    from backhaul.physics.energy import longest_night_h

    assert longest_night_h(latitude_deg=0.0) == pytest.approx(12.0)
    assert 24 - longest_night_h(latitude_deg=51.5) == pytest.approx(7.83 - 0.23, abs=0.02)
    assert 24 - longest_night_h(latitude_deg=59.9) == pytest.approx(5.87 - 0.36, abs=0.05)
    assert longest_night_h(latitude_deg=-80.0) == 24.0


def test_what_the_source_takes_itself_it_takes_all_day(tmp_path):
    """By hand: a controller of 5 W day and night beside a load in 10 % of the day.

    The load draws 10.1 W (with its line) in 2.4 h and the controller 5 W in 24 h: its share of the day
    is not that of the load.
    """
    found = []
    for watts in (0, 5):
        (tmp_path / str(watts)).mkdir()
        own = changed_catalog(tmp_path / str(watts), "devices", SUN, watts=watts)
        evaluation = run(tmp_path / f"d{watts}", duty="10", catalogs=(own,))
        (balance,) = energy_balances(
            evaluation.context.sources, evaluation.design, evaluation.power
        )
        found.append(balance)
    without, with_own = found
    assert with_own.day_wh == pytest.approx(without.day_wh + 5 * 24, rel=0.01)
    sheet = Typed(evaluation, "copper_and_supply", "chain", "site_cards", "inputs")
    assert not recalculation.compare(sheet.data)
