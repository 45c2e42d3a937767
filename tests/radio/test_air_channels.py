"""A channel stands with all of its width inside one rule that is for such a radio, and inside the
radio's own limits.

Edges: 47 CFR 15.407 (5.15, 5.25, 5.35, 5.47, 5.725, 5.85 GHz; one part for all, so that a channel
over 5.725 GHz meets the stricter), 15.249 (24.05 to 24.25), 101 (24.25 to 25.25 under licence);
CEPT ECC/DEC/(04)08 (5.47 to 5.725) and ECC/REC/(06)04 (5.725 to 5.875), which are two documents;
6425 to 7125 MHz of CEPT and 6875 to 7125 MHz of the US are fixed links under licence; ERC/REC 12-03:
channel 16 of 55 MHz lies about 18.58 GHz (18.7 - 1.0 + 16 × 0.055), across 18.6 GHz.
"""

import sys
from pathlib import Path

import pytest
from air_rows import ROW

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.evaluation import evaluate

LOW, HIGH = "radio-18ghz-low", "radio-18ghz-high"
LICENSED = {"part": LOW, "to_part": HIGH, "antenna": "dish-18ghz-0.6m", "channel_mhz": 55}


@pytest.mark.parametrize(
    "region, part, ghz, width, says",
    [
        # licence-exempt radios in bands under licence
        ("CEPT", "radio-6ghz-eht-int", 6.525, 320, "under licence"),
        ("US", "radio-6ghz-he-int", 7.0, 80, "under licence"),
        ("US", "radio-6ghz-eht-ext", 7.0, 160, "under licence"),
        ("CEPT", "radio-6ghz-he-ext", 6.5, 20, "under licence"),
        # half in a band under licence, half in a free one, or in two documents
        ("US", "radio-24ghz-int", 24.22, 100, "24.17 to 24.27"),
        ("US", "any-radio", 24.25, 40, "unlike rules"),
        ("CEPT", "radio-5ghz-he-ext", 5.72, 80, "5.68 to 5.76"),
        ("CEPT", "radio-5ghz-he-int", 5.725, 20, "unlike rules"),
        # beyond all bands
        ("CEPT", "radio-5ghz-he-int", 5.46, 40, "no band of CEPT"),
        ("US", "radio-6ghz-he-int", 6.43, 20, ""),
    ],
)
def test_a_channel_that_no_rule_takes_for_the_radio_fails(hops, region, part, ghz, width, says):
    antenna = "" if part.endswith("-int") else "dish-23dbi"
    row = {**ROW, "part": part, "antenna": antenna, "frequency_ghz": ghz, "channel_mhz": width}
    found = hops({**row, "tx_power_dbm": -10}, region=region).findings("radio-band", "fail")
    assert len(found) == 1 and says in found[0]["message"]


@pytest.mark.parametrize(
    "region, row",
    [
        ("US", {"part": "radio-6ghz-he-int", "frequency_ghz": 6.565, "channel_mhz": 80}),
        ("US", {"part": "radio-6ghz-he-int", "frequency_ghz": 6.835, "channel_mhz": 80}),
        ("US", {"part": "radio-5ghz-he-int", "frequency_ghz": 5.72, "channel_mhz": 40}),
        ("CEPT", {"part": "radio-5ghz-he-int", "frequency_ghz": 5.685, "channel_mhz": 80}),
        ("CEPT", {"part": "radio-5ghz-he-int", "frequency_ghz": 5.765, "channel_mhz": 80}),
        ("US", {"part": "radio-24ghz-int", "frequency_ghz": 24.2, "channel_mhz": 100}),
        ("CEPT", {**LICENSED, "frequency_ghz": 18.58, "to_frequency_ghz": 19.59}),
        # the licence of the hop stands before the table
        (
            "CEPT",
            {
                "part": "radio-6ghz-he-int",
                "frequency_ghz": 6.5,
                "channel_mhz": 20,
                "eirp_limit_dbm": 30,
            },
        ),
    ],
)
def test_a_channel_inside_a_rule_for_the_radio_is_no_finding(hops, region, row):
    found = hops({**ROW, "antenna": "", "tx_power_dbm": -10, **row}, region=region)
    assert found.findings("radio-band") == []


def test_each_rule_that_a_channel_lies_in_tells_its_conditions(hops):
    """Over 5.725 GHz in the US: radar detection of the one, the density of the other."""
    row = {**ROW, "frequency_ghz": 5.72, "channel_mhz": 40, "tx_power_dbm": -10}
    notes = [f["message"] for f in hops(row).findings("assumption", "note")]
    assert any("15.407(a)(2) allows" in m for m in notes)
    assert any("15.407(a)(3) allows" in m for m in notes)


@pytest.mark.parametrize(
    "row, held",
    [
        # radio-18ghz-low sends 17.7 to 18.69 GHz: 18.6625 + 0.0275 = 18.69
        ({**LICENSED, "frequency_ghz": 18.6625, "to_frequency_ghz": 19.66}, True),
        ({**LICENSED, "frequency_ghz": 18.663, "to_frequency_ghz": 19.66}, False),
        ({**LICENSED, "frequency_ghz": 17.7275, "to_frequency_ghz": 18.7375}, True),
        ({**LICENSED, "frequency_ghz": 17.7275, "to_frequency_ghz": 18.737}, False),
        # radio-5ghz-he-int: 5.15 to 5.895 GHz
        ({"part": "radio-5ghz-he-int", "frequency_ghz": 5.19, "channel_mhz": 80}, True),
        ({"part": "radio-5ghz-he-int", "frequency_ghz": 5.189, "channel_mhz": 80}, False),
        ({"part": "radio-5ghz-he-int", "frequency_ghz": 5.885, "channel_mhz": 20}, True),
        ({"part": "radio-5ghz-he-int", "frequency_ghz": 5.886, "channel_mhz": 20}, False),
    ],
)
def test_all_of_a_channel_lies_inside_the_limits_of_the_radio(hops, row, held):
    found = hops({**ROW, "antenna": "", **row}).findings("radio-pair", "fail")
    assert (found == []) is held
    assert all("that is" in f["message"] for f in found)


@pytest.mark.parametrize("ghz, antenna", [(5.2, ""), (5.36, ""), (5.9, "")])
def test_a_channel_outside_the_bands_is_moved_into_one(hops, catalog, ghz, antenna):
    """CEPT takes 5.47 to 5.875 GHz outdoors: the nearest channels in it are tried, no others."""
    row = {**ROW, "part": "radio-5ghz-he-int", "antenna": antenna, "frequency_ghz": ghz}
    design = hops({**row, "channel_mhz": 20, "tx_power_dbm": -5}, region="CEPT").evaluation.design
    found = evaluate(design, catalog, remedies=True).findings
    edits = [edit for f in found if f.check == "radio-band" for edit in f.edits]
    assert [edit.column for edit in edits] == ["frequency_ghz"]
    assert 5.48 <= edits[0].to <= 5.865


def test_a_channel_outside_both_radios_is_one_finding(hops):
    """Sent and heard outside, both ways: one cause."""
    row = {"part": "radio-5ghz-he-int", "antenna": "", "frequency_ghz": 6.5, "channel_mhz": 40}
    found = hops({**ROW, **row}).findings("radio-pair", "fail")
    assert len(found) == 1
    assert "transmits" in found[0]["message"] and "receives" in found[0]["message"]


@pytest.mark.parametrize(
    "power, column",
    # 5.25 GHz: 30 dBm at 23 dBi and more from there on, 53 dBm below it (47 CFR 15.407(a))
    [(23, "frequency_ghz"), (6, "tx_power_dbm")],
)
def test_a_little_too_much_power_is_lowered_much_moves_the_channel(hops, catalog, power, column):
    row = {**ROW, "part": "radio-5ghz-he-int", "antenna": "", "frequency_ghz": 5.25}
    design = hops({**row, "channel_mhz": 40, "tx_power_dbm": power}).evaluation.design
    found = evaluate(design, catalog, remedies=True).findings
    edits = [edit for f in found if f.check == "radio-eirp" for edit in f.edits]
    assert [edit.column for edit in edits] == [column]


@pytest.mark.parametrize(
    "far, told",
    # halves 17.7 to 18.69 and 18.71 to 19.7 GHz, 1010 MHz apart; 0.95 of it is 959.5 MHz
    [(18.73, True), (19.009, True), (19.01, False), (19.06, False), (19.1, False)],
)
def test_the_two_frequencies_lie_as_far_apart_as_the_filters_want(hops, catalog, far, told):
    row = {**ROW, **LICENSED, "frequency_ghz": 18.05, "to_frequency_ghz": far, "channel_mhz": 28}
    if far == 18.73:
        row["frequency_ghz"] = 18.67
    found = hops(row)
    thin = found.findings("radio-channel", "thin")
    assert [f["limit"] for f in thin] == ([pytest.approx(959.5)] if told else [])
    if told:
        design = found.evaluation.design
        after = evaluate(design, catalog, remedies=True).findings
        edits = [edit for f in after if f.check == "radio-channel" for edit in f.edits]
        assert [edit.column for edit in edits] == ["to_frequency_ghz"]
        assert edits[0].to == pytest.approx(row["frequency_ghz"] + 1.01)


def test_a_relay_with_like_terminals_has_one_hop_turned_round(tmp_path):
    """At B one hop sends in the lower half, the other in the upper: turned round, both do in one.

    The two hops are told apart by 90° and 300 MHz, so that nothing else stands.
    """
    hop = (
        "radio radio-18ghz-low site={0} to_site={1} to_part=radio-18ghz-high antenna=dish-18ghz-0.6m"
        " height_m=30 to_height_m=30 channel_mhz=28 polarization=V tx_power_dbm=5"
        " frequency_ghz={2} to_frequency_ghz={3}"
    )
    sites = (
        "project region=US | site A latitude=50 longitude=0 ground_m=100 | "
        "site B latitude=50 longitude=0.08 ground_m=100 | "
        "site C latitude=50.05 longitude=0.08 ground_m=100"
    )
    text = hop.format("A", "B", 17.9, 18.91) + " || " + hop.format("B", "C", 18.0, 19.01)
    design = compact.run(tmp_path, text, sites)
    found = evaluate(design.design, design.catalog, remedies=True).findings
    (told,) = [f for f in found if f.check == "radio-channel"]
    assert {edit.column: edit.to for edit in told.edits} == {
        "part": "radio-18ghz-high",
        "to_part": "radio-18ghz-low",
        "frequency_ghz": 18.91,
        "to_frequency_ghz": 17.9,
    }
