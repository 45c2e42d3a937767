"""Power of an offered radio: one figure for all modes caps each, and no mode is offered above it."""

import pytest
from small_designs import Typed, changed_catalog, evaluated, rows

from backhaul.catalog import load_catalog

SHEETS = ("radio_hops", "alternatives", "inputs")
#: An invented mode beside ours: rate, sensitivity, power.
FURTHER = (800.0, -75.0, 18.0)


def hop(radio: str, columns: str = "") -> list[dict[str, str]]:
    """A hop of 1.2 km at 5.6 GHz."""
    return rows(
        "p",
        "device switch-12-sfp site=crest label=SW1",
        f"radio {radio} site=crest to_site=tower height_m=8 to_height_m=8 length_m=1200 "
        f"frequency_ghz=5.6 channel_mhz=40 label=H1 {columns}",
    )


@pytest.mark.parametrize("row_power", ["", "tx_power_dbm=5"])
@pytest.mark.parametrize("most", [-29.9, -20.0, 4.0, 16.0, 60.0])
def test_one_power_for_all_modes_caps_every_mode(tmp_path, most, row_power):
    """The smallest of a row's, a mode's and a radio's power is sent, by hand and evaluated anew."""
    radio = "radio-5ghz-he-int"
    design = hop(radio, row_power)
    base = evaluated(tmp_path / "d", design)
    own = changed_catalog(tmp_path / "c", "radios", radio, tx_power_dbm=most)
    changed = evaluated(tmp_path / "d", design, catalogs=(own,))
    book = Typed(base, *SHEETS)
    ours, further = len(base.radio.modes["name"]) // 2, f"alt.radio_modes.{radio}.40.further0"
    names = ("rate_mbps", "sensitivity_dbm", "tx_power_dbm")
    added = {f"{further}.{name}": v for name, v in zip(names, FURTHER, strict=True)}
    given = f"given.radios.{radio}.tx_power_dbm"
    sent = base.radio.modes["mode_power_dbm"]
    for typed in ({f"alt.radios.{radio}.offered.1": most} | added, {given: most}):
        found = book.typed(typed)
        for mode in range(ours):
            margin = base.radio.modes["margin_db"][mode] - max(sent[mode] - most, 0)
            assert found[f"air.0.a.mode{mode}.margin_db"] == pytest.approx(margin, abs=1e-9)
        if given not in typed:
            row_most = 5.0 if row_power else 60.0
            power = found[f"air.0.a.mode{ours}.mode_power_dbm"]
            assert power == pytest.approx(min(most, row_most, FURTHER[2]))
        else:
            for way, name in ((w, n) for w in (0, 1) for n in ("received_dbm", "eirp_dbm")):
                want = float(changed.radio.values[name][way])
                assert found[f"air.0.{'ab'[way]}.{name}"] == pytest.approx(want, abs=1e-9)
            assert list(changed.radio.modes["margin_db"][:ours]) == pytest.approx(
                [found[f"air.0.a.mode{mode}.margin_db"] for mode in range(ours)], abs=1e-9
            )
    assert book.typed({f"alt.radios.{radio}.offered.1": most})[
        f"alt.radios.{radio}.margin.ours"
    ] == pytest.approx(book.typed({})[f"alt.radios.{radio}.margin.ours"], abs=1e-9)


def test_a_mode_is_offered_no_more_than_the_power_for_all(tmp_path):
    """What a radio sends in no mode lowers no margin unseen: the power for all is typed with it."""
    radio = "radio-5ghz-he-int"
    base = evaluated(tmp_path / "d", hop(radio))
    mode = f"alt.radio_modes.{radio}.40.{base.radio.modes['name'][0]}.tx_power_dbm"
    book, most = Typed(base, *SHEETS), f"alt.radios.{radio}.offered.1"
    ours = load_catalog().radios[radio].tx_power_dbm
    assert book.typed({mode: ours})[f"state.{mode}"] == 1
    assert book.typed({mode: ours + 0.5})[f"state.{mode}"] == 3
    assert book.typed({mode: ours + 0.5, most: ours + 0.5})[f"state.{mode}"] == 1
    assert book.typed({mode: ours, most: -20.0})[f"state.{mode}"] == 1
    further = f"alt.radio_modes.{radio}.40.further0"
    whole = {f"{further}.rate_mbps": 400.0, f"{further}.sensitivity_dbm": -60.0}
    state = f"state.{further}.tx_power_dbm"
    assert book.typed(whole | {f"{further}.tx_power_dbm": ours})[state] == 1
    assert book.typed(whole | {f"{further}.tx_power_dbm": ours + 0.5})[state] == 3
