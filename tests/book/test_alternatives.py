"""Alternatives: a typed figure must give what the evaluation gives with a catalogue that has it.

The second engine recalculates the file; the figure to agree with comes from our own evaluation
of the same design with a catalogue in which only that figure is another.
"""

import book_formulas
import pytest
import recalculation
from our_parts import our_rows
from small_designs import Typed, changed_catalog, evaluated, rows, write_table

from backhaul.book.book import SHEETS as ALL_SHEETS
from backhaul.budgets.needed_modes import needed_mode
from backhaul.catalog import load_catalog
from backhaul.findings import worst

SHEETS = ("optical_links", "radio_hops", "alternatives", "inputs")
LIGHT = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber cord-os2-lcupc-lcupc site=works length_m=5",
    "connector lc-upc",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
    "connector lc-upc",
    "optic 1000base-lx10-i site=crest",
    "device switch-ind-6-sfp-2-sfp+ site=crest label=SW2",
)
PAIRED = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=5/6 label=C1",
    "optic 1000base-lx10 site=crest",
    "device switch-ind-6-sfp-2-sfp+ site=crest label=SW2",
)
FORM_C = (
    "device switch-12-sfp+ site=works label=SW1",
    "optic 10gbase-lr site=works",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=5/6 label=C1",
    "optic 10gbase-lr site=crest",
    "device switch-12-sfp+ site=crest label=SW2",
)


def antenna() -> str:
    """The first catalogue antenna for 5.6 GHz."""
    return next(
        name
        for name, part in load_catalog().antennas.items()
        if part.frequency_min_ghz and part.frequency_min_ghz <= 5.6 <= part.frequency_max_ghz
    )


def hop(radio: str = "radio-5ghz-he-ext", columns: str = "") -> list[dict[str, str]]:
    """A hop of 1.2 km at 5.6 GHz."""
    return rows(
        "p",
        "device switch-12-sfp site=crest label=SW1",
        f"radio {radio} site=crest to_site=tower height_m=8 to_height_m=8 length_m=1200 "
        f"frequency_ghz=5.6 channel_mhz=40 label=H1 {columns}",
    )


def light_verdict(evaluation) -> str:
    """What the levels alone say: margin, channel limit, overload, dispersion."""
    return worst(
        finding.severity
        for finding in evaluation.findings
        if finding.check in ("optical-margin", "receiver-overload", "fiber-dispersion")
    )


def assert_light_is(found, changed) -> None:
    """Every figure of Light as the evaluation of the changed catalogue has it."""
    for direction in range(2 * len(changed.optical.links)):
        key = f"light.{direction // 2}.{'ab'[direction % 2]}"
        for name in (
            "received_min_dbm",
            "received_max_dbm",
            "margin_db",
            "overload_margin_db",
            "statistical_margin_db",
            "loss_max_db",
        ):
            want = float(changed.optical.values[name][direction])
            assert found[f"{key}.{name}"] == pytest.approx(want, abs=1e-9), name
    for index, link in enumerate(changed.optical.links):
        assert found[f"light.{index}.verdict"] == changed.link_verdict(link)


@pytest.mark.parametrize("lines", [LIGHT, PAIRED])
@pytest.mark.parametrize(
    ("field", "column", "value"),
    [
        ("launch_min_dbm", 0, -11.0),
        ("launch_min_dbm", 0, -13.4),
        ("launch_max_dbm", 1, 0.5),
        ("sensitivity_dbm", 2, -16.0),
        ("overload_dbm", 3, -6.0),
        ("penalty_db", 4, 5.5),
    ],
)
def test_an_offered_optic(tmp_path, lines, field, column, value):
    design = rows("p", *lines)
    base = evaluated(tmp_path / "d", design)
    own = changed_catalog(tmp_path / "c", "optics", "1000base-lx10", **{field: value})
    changed = evaluated(tmp_path / "d", design, catalogs=(own,))
    book = Typed(base, *SHEETS)
    part = "alt.optics.1000base-lx10"
    found = book.typed({f"{part}.offered.{column}": value})
    assert_light_is(found, changed)
    for name, term in (("margin", "margin_db"), ("room", "overload_margin_db")):
        ours, now = (float(e.optical.values[term].min()) for e in (base, changed))
        assert found[f"{part}.{name}.ours"] == pytest.approx(ours, abs=1e-9)
        assert found[f"{part}.{name}.offered"] == pytest.approx(now, abs=1e-9)
        assert found[f"{part}.change.{name}"] == pytest.approx(now - ours, abs=1e-9)
    assert found[f"{part}.verdict.ours"] == light_verdict(base)
    assert found[f"{part}.verdict.offered"] == light_verdict(changed)
    assert found["alternatives.count"] == 1


def test_at_a_glance_says_that_offered_figures_count(tmp_path):
    base = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(base, *ALL_SHEETS)
    assert "typed" not in book.typed({})["glance.written"]
    assert (
        "Figures typed since: 1."
        in book.typed({"alt.optics.1000base-lx10.offered.0": -8.0})["glance.written"]
    )


def test_an_offered_channel_limit(tmp_path):
    base = evaluated(tmp_path / "d", rows("p", *FORM_C))
    found = Typed(base, *SHEETS).typed({"alt.optics.10gbase-lr.offered.5": 3.0})
    part = "alt.optics.10gbase-lr"
    # form C: margin = channel limit less loss less allowance; ours is 6.2 dB (Clause 52)
    before = float(base.optical.values["margin_db"][0])
    assert found["light.0.a.margin_db"] == pytest.approx(before - 3.2, abs=1e-9)
    assert found[f"{part}.margin.ours"] == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize(
    ("column", "figures"),
    [
        (0, {"max_db_km_1310": 0.9}),
        (0, {"max_db_km_1310": 3.0}),
        (2, {"min_db_km_1310": 0.1}),
    ],
)
def test_an_offered_cable(tmp_path, column, figures):
    design = rows("p", *LIGHT)
    base = evaluated(tmp_path / "d", design)
    own = changed_catalog(tmp_path / "c", "fibers", "os2-12", **figures)
    changed = evaluated(tmp_path / "d", design, catalogs=(own,))
    (value,) = figures.values()
    found = Typed(base, *SHEETS).typed({f"alt.fibers.os2-12.1310.offered.{column}": value})
    assert_light_is(found, changed)
    part = "alt.fibers.os2-12.1310"
    for name, term in (("margin", "margin_db"), ("room", "overload_margin_db")):
        ours, now = (float(e.optical.values[term].min()) for e in (base, changed))
        assert found[f"{part}.{name}.ours"] == pytest.approx(ours, abs=1e-9)
        assert found[f"{part}.{name}.offered"] == pytest.approx(now, abs=1e-9)
    assert found[f"{part}.verdict.ours"] == light_verdict(base)
    assert found[f"{part}.verdict.offered"] == light_verdict(changed)


def assert_air_is(found, changed) -> None:
    """Levels and margins of Air as the evaluation of the changed catalogue has them."""
    radio = changed.radio
    for direction in (0, 1):
        key, start = f"air.0.{'ab'[direction]}", int(radio.mode_start[direction])
        for name in ("received_dbm", "eirp_dbm"):
            assert found[f"{key}.{name}"] == pytest.approx(
                float(radio.values[name][direction]), abs=1e-9
            )
        for number in range(int(radio.mode_start[direction + 1]) - start):
            assert found[f"{key}.mode{number}.margin_db"] == pytest.approx(
                float(radio.modes["margin_db"][start + number]), abs=1e-9
            )


def worst_margin(evaluation, modes) -> float:
    return min(float(evaluation.radio.modes["margin_db"][mode]) for mode in modes)


@pytest.mark.parametrize("power", ["", "tx_power_dbm=5"])
def test_an_offered_antenna(tmp_path, power):
    design = hop(columns=f"antenna={antenna()} {power}")
    base = evaluated(tmp_path / "d", design)
    gain = load_catalog().antennas[antenna()].gain_dbi - 4.5
    own = changed_catalog(tmp_path / "c", "antennas", antenna(), gain_dbi=gain)
    changed = evaluated(tmp_path / "d", design, catalogs=(own,))
    part = f"alt.antennas.{antenna()}"
    found = Typed(base, *SHEETS).typed({f"{part}.offered.0": gain})
    assert_air_is(found, changed)
    modes = [needed_mode(base, d).mode for d in (0, 1)]
    ours = worst_margin(base, modes)
    assert found[f"{part}.margin.ours"] == pytest.approx(ours, abs=1e-9)
    assert found[f"{part}.margin.offered"] == pytest.approx(ours - 9.0, abs=1e-9)


@pytest.mark.parametrize("power", ["", "tx_power_dbm=5"])
def test_an_offered_radio(tmp_path, power):
    radio = "radio-5ghz-he-int"
    design = hop(radio, power)
    base = evaluated(tmp_path / "d", design)
    number = 2
    name = base.radio.modes["name"][number]
    mode = next(
        m for m in load_catalog().radio_modes[radio] if m.mode == name and m.channel_mhz == 40
    )
    prefix = f"alt.radio_modes.{radio}.40.{name}"
    gain = load_catalog().radios[radio].antenna_dbi - 3
    found = Typed(base, *SHEETS).typed(
        {
            f"alt.radios.{radio}.offered.0": gain,
            f"{prefix}.sensitivity_dbm": mode.sensitivity_dbm + 2.0,
            f"{prefix}.tx_power_dbm": 3.0,
        }
    )
    stated = float(base.radio.modes["mode_power_dbm"][number])
    before = float(base.radio.modes["margin_db"][number])
    expected = before - 6.0 - 2.0 - (stated - min(3.0, stated))
    assert found[f"air.0.a.mode{number}.margin_db"] == pytest.approx(expected, abs=1e-9)
    assert found[f"{prefix}.margin.offered"] == pytest.approx(expected, abs=1e-9)
    assert found[f"{prefix}.margin.ours"] == pytest.approx(before, abs=1e-9)
    assert found["alternatives.count"] == 3


def test_empty_cells_mean_ours_and_the_engine_agrees(tmp_path):
    design = rows("p", *LIGHT) + [
        row | {"path": "q", "label": f"far-{row['label']}"} for row in hop("radio-5ghz-he-int")
    ]
    base = evaluated(tmp_path / "d", design)
    book = Typed(base, *SHEETS)
    assert recalculation.compare(book.data, tolerance=1e-9) == []
    assert book_formulas.unsafe_functions(book.data) == []
    assert book_formulas.empty_references(book.data) == []
    assert book_formulas.blanks(book.data) == []
    assert book.typed({})["alternatives.count"] == 0


def test_a_given_moves_both_ours_and_offered(tmp_path):
    base = evaluated(tmp_path / "d", rows("p", *LIGHT))
    part = "alt.optics.1000base-lx10"
    found = Typed(base, *SHEETS).typed(
        {
            "given.optics.1000base-lx10.launch_min_dbm": -10.0,
            f"{part}.offered.2": -18.5,
        }
    )
    away, back = (float(base.optical.values["margin_db"][d]) for d in (0, 1))
    assert found[f"{part}.margin.ours"] == pytest.approx(min(away - 1.0, back), abs=1e-9)
    assert found[f"{part}.margin.offered"] == pytest.approx(min(away - 1.0, back - 1.0), abs=1e-9)


def test_givens_stand_alone_where_nothing_is_offered(tmp_path):
    base = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(base, "optical_links", "inputs")
    before = float(base.optical.values["margin_db"][0])
    found = book.typed({"eff.optics.1000base-lx10.launch_min_dbm": -10.0})
    assert found["light.0.a.margin_db"] == pytest.approx(before - 1.0, abs=1e-9)


def test_no_light_and_no_air_no_sheet(tmp_path):
    lines = (
        "device injector-at-1g site=works",
        "copper cat6a-out site=works length_m=10",
        "device camera-class3 site=works",
    )
    base = evaluated(tmp_path / "d", rows("p", *lines))
    assert "Alternatives" not in Typed(base, *SHEETS).layout.names


#: Two invented modes, one faster than all of ours: rate, sensitivity, power.
FURTHER = ((400.0, -60.0, 14.0), (800.0, -75.0, 18.0))


def test_a_radio_with_more_modes_is_typed_whole(tmp_path):
    """Our own evaluation of a catalogue whose radio has those modes too tells margins and the mode in use.

    A reflection outage of a further mode is bounded by ours; on this hop there is none.
    """
    radio = "radio-5ghz-he-int"
    design = hop(radio)
    base = evaluated(tmp_path / "d", design)
    own = tmp_path / "c"
    own.mkdir()
    modes = [row for row in our_rows("radio_modes.csv") if row["part"] == radio]
    likes = [row for row in modes if float(row["channel_mhz"]) == 40]
    added = [
        likes[0]
        | {
            "mode": f"further{n}",
            "rate_mbps": str(rate),
            "sensitivity_dbm": str(sensitivity),
            "tx_power_dbm": str(power),
        }
        for n, (rate, sensitivity, power) in enumerate(FURTHER)
    ]
    write_table(own, "radio_modes", modes + added)
    changed = evaluated(tmp_path / "d", design, catalogs=(own,))
    typed = {
        f"alt.radio_modes.{radio}.40.further{n}.{name}": value
        for n, values in enumerate(FURTHER)
        for name, value in zip(
            ("rate_mbps", "sensitivity_dbm", "tx_power_dbm"), values, strict=True
        )
    }
    book = Typed(base, *SHEETS)
    found, ours = book.typed(typed), len(base.radio.modes["name"]) // 2
    for n, (rate, _, _) in enumerate(FURTHER):
        place = list(changed.radio.modes["name"]).index(f"further{n}")
        for name in ("margin_db", "availability_percent", "mode_power_dbm"):
            figure = found[f"air.0.a.mode{ours + n}.{name}"]
            assert figure == pytest.approx(float(changed.radio.modes[name][place]), abs=1e-9)
        assert found[f"air.0.a.mode{ours + n}.rate_mbps"] == rate
    served = changed.performance.hops
    assert found["air.0.a.rate_at_target_mbps"] == pytest.approx(float(served.user_rate_mbps[0]))
    assert served.user_rate_mbps[0] > base.performance.hops.user_rate_mbps[0]
    assert found["air.0.a.eirp_dbm"] == pytest.approx(float(changed.radio.values["eirp_dbm"][0]))


def test_a_further_mode_that_is_half_typed_is_of_no_use(tmp_path):
    radio = "radio-5ghz-he-int"
    book = Typed(evaluated(tmp_path / "d", hop(radio)), *SHEETS)
    key = f"alt.radio_modes.{radio}.40.further0"
    half = book.typed({f"{key}.rate_mbps": 900.0, f"{key}.tx_power_dbm": 10.0})
    assert half[f"state.{key}.rate_mbps"] == 3
    assert half["air.0.a.rate_at_target_mbps"] == book.typed({})["air.0.a.rate_at_target_mbps"]
