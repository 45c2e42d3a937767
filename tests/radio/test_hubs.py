"""Terminals that several hops share: time, order, power, pattern, interference.

Shares of time are worked by hand; 3 dB at half a beam is what a beamwidth means. Designs are invented.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import agreement`

import agreement
import compact

import backhaul.api
from backhaul.budgets.hub_time import hub_share
from backhaul.budgets.order_list import order_list
from backhaul.catalog import load_catalog
from backhaul.checks.bands import judge_all
from backhaul.errors import InputError
from backhaul.physics.sectors import middle_azimuth_deg, sector_loss_db
from backhaul.report.record import record

MARSH = Path(__file__).parents[1] / "designs" / "marsh"
SITES = (
    "project region=TEST rate_headroom_percent=30 | "
    "site A latitude=45 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200 | "
    "site B latitude=45.03 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200 | "
    "site C latitude=45 longitude=5.03 ground_m=10 rain_rate_mm_h=30 dn1=-200"
)
PATH = (
    "device t-switch-poe site=A label=S | copper t-cat5e 20m label=C | radio t-radio-ext site=A "
    "to_site={0} frequency_ghz=5.5 channel_mhz=40 height_m=30 to_height_m=30 label=h{0} hub=H {1}"
    " | copper t-cat5e 20m | device t-switch-poe site={0}"
)
SECTOR = "antenna=sector-5ghz-120 to_antenna=panel-5ghz-23dbi"


def hub(b: str = SECTOR, c: str = SECTOR) -> str:
    return PATH.format("B", b) + " || " + PATH.format("C", c)


def demand(b: tuple[float, float], c: tuple[float, float]) -> str:
    rows = zip(("P1", "P2"), (b, c), strict=True)
    return SITES + "".join(f" | demand {p} up_mbps={up} down_mbps={down}" for p, (up, down) in rows)


@pytest.fixture(scope="module")
def marsh():
    return backhaul.api.evaluate(backhaul.api.read_design(MARSH))


def test_shares_of_time_by_hand(tmp_path):
    """Modes of 200 Mb/s, 0.6 of it for users: 120 Mb/s. (12 + 24) / 120 = 0.3 of the time for B,
    (6 + 6) / 120 = 0.1 for C; B has 3/4 of the time, a third of it up: 30 Mb/s, the rest 60."""
    evaluation = compact.run(tmp_path, hub(), demand((12, 24), (6, 6)))
    served = evaluation.performance
    assert served.hops.whole_rate_mbps == pytest.approx([120.0] * 4)
    assert served.hops.busy.reshape(-1, 2).sum(axis=1) == pytest.approx([0.3, 0.1])
    assert served.hops.hub_busy == pytest.approx([0.4] * 4)
    b, c = served.paths["P1"], served.paths["P2"]
    assert (b.rate_up_mbps, b.rate_down_mbps) == pytest.approx((30.0, 60.0))
    assert (c.rate_up_mbps, c.rate_down_mbps) == pytest.approx((15.0, 15.0))


@pytest.mark.parametrize(
    ("up", "word"), [(41.9, "pass"), (42.1, "thin"), (59.9, "thin"), (60.1, "fail")]
)
def test_all_loads_together_fit_the_time_or_none_does(up, word, tmp_path):
    """Two hops of 120 Mb/s with 30 % headroom: 84 Mb/s together, 120 at most."""
    evaluation = compact.run(tmp_path, hub(), demand((up / 2, up / 2), (up / 2, up / 2)))
    found = [f for f in evaluation.findings if f.check == "path-rate"]
    assert [f.severity for f in found] == ([] if word == "pass" else [word])
    for one in found:
        assert set(one.paths) == {"P1", "P2"} and one.unit == "%"
    headroom = 1 - evaluation.design.project.rate_headroom_percent / 100
    for served in evaluation.performance.paths.values():
        fits = served.demand_up_mbps <= served.rate_up_mbps * headroom + 1e-9
        assert fits == (word == "pass")


def test_a_hop_without_a_load_has_what_is_left():
    shares = hub_share(busy=np.array([0.25, 0.0]), hub_busy=0.25, hops=2)
    assert shares == pytest.approx([1.0, 0.75])
    assert hub_share(busy=np.zeros(4), hub_busy=0.0, hops=4) == pytest.approx([0.25] * 4)


def test_a_hub_is_one_terminal(marsh):
    """Twelve hops, one terminal at their first end: one load, one order, one port."""
    lines = {line.part: line.needed for line in order_list(marsh).lines}
    assert lines["radio-5ghz-vht-ext"] == lines["sector-5ghz-120"] == 1
    assert lines["radio-5ghz-vht-int"] == 12 and "panel-5ghz-23dbi" not in lines
    at_lookout = [e for e in marsh.network.all_equipment.values() if e.site == "Lookout"]
    assert sorted(e.label for e in at_lookout) == ["lookout-switch", "marsh-hub"]
    source = next(s for s in marsh.context.sources if s.equipment.site == "Lookout")
    assert len(source.lines) == 1 and len(source.lines[0].equipment) == 1


def test_hops_of_a_hub_do_not_disturb_each_other(marsh):
    assert np.isnan(marsh.radio.interference.interference_dbm).all()
    assert not [f for f in marsh.findings if f.check in ("radio-channel", "radio-interference")]


@pytest.mark.parametrize("beam", [60.0, 90.0, 120.0])
def test_a_sector_is_3_db_down_at_half_its_beam(beam):
    loss = sector_loss_db(angle_deg=np.linspace(0, 180, 721), beamwidth_deg=beam, gain_dbi=16.0)
    assert loss[0] == 0 and (np.diff(loss) >= 0).all() and (np.diff(loss) < 0.3).all()
    assert sector_loss_db(angle_deg=beam / 2, beamwidth_deg=beam, gain_dbi=16.0) == 3.0


def test_the_level_beside_the_axis_is_that_of_the_pattern(tmp_path):
    """B lies due north: turning the antenna from there to 60° costs 3 dB of a beam of 120°."""
    levels = []
    for number, axis in enumerate((0, 60)):
        aimed = f"{SECTOR} hub_azimuth_deg={axis}"
        evaluation = compact.run(tmp_path / str(number), hub(aimed, aimed), SITES)
        levels.append(evaluation.radio.values["received_dbm"][:2])
        assert evaluation.radio.values["eirp_dbm"][0] == pytest.approx(36.0)  # on its axis
    assert levels[0] - levels[1] == pytest.approx([3.0, 3.0], abs=1e-6)


def test_where_no_azimuth_is_typed_the_middle_of_the_far_ends_is_taken_and_said(marsh):
    """The far ends lie at 32° to 126°: the middle is 79°, 47° from the outermost."""
    assert marsh.radio.hops.hubs.axis_deg == pytest.approx(79.0, abs=0.1)
    told = next(f for f in marsh.findings if "marsh-hub is taken to point" in f.message)
    assert "79° from north" in told.message and "47° beside it" in told.message
    assert middle_azimuth_deg([340.0, 40.0]) == 10.0


def test_the_json_tells_of_the_hub(marsh):
    link = next(link for link in record(marsh)["paths"][0]["links"] if link["kind"] == "radio")
    assert link["hub"] == "marsh-hub" and link["off_axis_deg"] == pytest.approx(47.0, abs=0.1)
    way = link["directions"][0]
    assert way["hub_time_percent"] == pytest.approx(100 * 6.2 / 202.5 / _together(), abs=0.01)


def _together() -> float:
    """Loads over the user rates of the modes in use, by hand from the table of modes: 0.75 of
    270, 162, 162, 108, 243, 108, 108, 162, 108, 108, 243 and 162 Mb/s."""
    rates = (270, 162, 162, 108, 243, 108, 108, 162, 108, 108, 243, 162)
    return sum((6.2 if n % 2 == 0 else 0.7) / (0.75 * rate) for n, rate in enumerate(rates))


@pytest.mark.parametrize(
    ("change", "cell"),
    [
        ("antenna=omni-5ghz-10dbi to_antenna=panel-5ghz-23dbi", "antenna"),
        (f"{SECTOR} hub_azimuth_deg=10", "hub_azimuth_deg"),
        (f"{SECTOR} height_m=20", "height_m"),
    ],
)
def test_what_hops_say_of_their_one_terminal_must_agree(change, cell, tmp_path):
    with pytest.raises(InputError, match=rf"{cell}.*hub"):
        compact.run(tmp_path, hub(c=change), SITES)


@pytest.mark.parametrize(
    "row", ["device t-switch label=H site=A", "radio t-radio label=H site=A to_site=B"]
)
def test_a_hub_has_a_label_of_its_own(row, tmp_path):
    with pytest.raises(InputError, match="hub"):
        compact.run(tmp_path, f"{hub()} || {row}", SITES)


def test_a_power_path_to_the_hub_feeds_the_terminal_of_all_hops(tmp_path):
    text = (
        hub()
        + " || device t-switch-poe site=A label=S2 | copper t-cat5e 20m | radio t-radio-ext site=A label=H"
    )
    evaluation = compact.run(tmp_path, text, SITES)
    hubs = [e for e in evaluation.network.all_equipment.values() if e.label == "H"]
    assert len(hubs) == 1 and set(hubs[0].paths) == {"P1", "P2", "P3"}


def test_a_change_of_the_hub_is_one_of_all_its_hops(marsh):
    changed = marsh.design.changed("hide-1", 3, load_catalog(), height_m=25)
    assert {row.height_m for row in changed.segments if row.hub} == {25.0}
    other = marsh.design.changed("hide-1", 3, load_catalog(), to_height_m=11)
    assert sorted({row.to_height_m for row in other.segments if row.hub}) == [8.0, 11.0]


def test_the_shares_are_live_in_the_workbook(tmp_path):
    """A larger demand typed over moves the shares of both hops, and the verdict of the hub's paths."""
    book = agreement.Recalculated(compact.run(tmp_path / "a", hub(), demand((12, 24), (6, 6))))
    keys = [key for key in book.plan.inputs.rows if key.startswith("given.demand")]
    up = [key for key in keys if "up_mbps" in key]
    book.type_in({up[0]: 96.0})  # 120 of 120 Mb/s, and 12 more of C
    anew = compact.run(tmp_path / "b", hub(), demand((96, 24), (6, 6)))
    for path in ("P1", "P2"):
        served = anew.performance.paths[path]
        assert served.rate_up_mbps == pytest.approx(book.of(f"chain.{path}.rate.up"))
        assert served.rate_down_mbps == pytest.approx(book.of(f"chain.{path}.rate.down"))
        assert book.of(f"chain.{path}.verdict") == anew.path_verdicts[path] == "fail"
    assert book.of("air.0.a.hub_busy") == pytest.approx(1.1)


@pytest.mark.parametrize(
    ("b", "c", "says"),
    [
        ("tx_power_dbm=1.5", "tx_power_dbm=-8", "of one power: -8 dBm here, 1.5 dBm"),
        ("up_share_percent=80", "up_share_percent=20", "one share of its time for up: 20 % here"),
        ("polarization=V", "polarization=H", "on one channel"),
        ("tx_power_dbm=5", "tx_power_dbm=5.0", ""),
        ("up_share_percent=60", "up_share_percent=60", ""),
        ("", "up_share_percent=60", ""),
    ],
)
def test_a_terminal_has_one_of_each_setting(b, c, says, tmp_path):
    found = compact.run(tmp_path, hub(f"{SECTOR} {b}", f"{SECTOR} {c}"), SITES).findings
    told = [f for f in found if f.check == "radio-pair"]
    assert [f.severity for f in told] == (["fail"] if says else [])
    assert all(says in f.message for f in told)


@pytest.mark.parametrize("far_ends", [1, 2])
def test_a_radio_that_sends_and_receives_at_once_has_one_far_end(far_ends, tmp_path):
    """A frequency-division pair of 18 GHz; a licensed link is one of two points."""
    text = hub(*["antenna=dish-18ghz-0.3m to_part=radio-18ghz-high"] * 2)
    text = text.replace("t-radio-ext", "radio-18ghz-low").replace(
        "frequency_ghz=5.5 channel_mhz=40",
        "frequency_ghz=17.9 to_frequency_ghz=18.91 channel_mhz=28",
    )
    if far_ends == 1:
        text = text.partition("||")[0]
    told = [f for f in compact.run(tmp_path, text, SITES).findings if f.check == "radio-pair"]
    assert [f.severity for f in told] == ["fail"] * (far_ends - 1)
    assert all("serves 2 far ends" in f.message for f in told)


DISH = "antenna=panel-5ghz-23dbi"


@pytest.mark.parametrize("several", [True, False])
def test_a_terminal_that_serves_several_is_not_point_to_point(tmp_path, several):
    """47 CFR 15.407(a)(3): the rule of any gain excludes point-to-multipoint (from memory)."""
    path = hub(DISH, DISH) if several else PATH.format("B", DISH)
    evaluation = compact.run(
        tmp_path, path.replace("5.5 ", "5.8 "), SITES.replace("region=TEST", "region=US")
    )
    rules = [
        {rule.record.part for rule in judged} for judged in judge_all(evaluation.context, (0, 1))
    ]
    assert ("us-5.8-ptp" in rules[0]) is not several
    assert "us-5.8-multipoint" in rules[0] & rules[1] and "us-5.8-ptp" in rules[1]
