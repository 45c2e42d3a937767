"""Senders that never send while a receiver listens: halves of one clock's frame, hops of one hub.

By the definition of time division: who sends in a half of the frame listens in the other. Invented.
"""

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.budgets.requirements_radio import antenna_demands, radio_demands

HOP = (
    "radio t-radio-ext site={0} to_site={1} frequency_ghz=5.5 channel_mhz=40 height_m=30 "
    "to_height_m=30 tx_power_dbm=5 label=h{0}{1}{3} antenna=omni-5ghz-10dbi{2}"
)
PLACES = {
    "A": (45.0, 5.0),
    "B": (45.01, 5.0),
    "C": (45.005, 5.01),
    "D": (45.0, 5.02),
    "E": (45.01, 5.02),
}


def design(*hops: str) -> str:
    """Hops as AB, or AB of a hub as AB:H."""
    found = []
    for number, text in enumerate(hops):
        ends, _, hub = text.partition(":")
        found.append(HOP.format(ends[0], ends[1], f" hub={hub}" if hub else "", number))
    return " || ".join(found)


def run(folder, *hops: str, in_step: bool = True):
    others = f"project region=TEST{' tdd_in_step=yes' if in_step else ''}"
    for name, (latitude, longitude) in PLACES.items():
        others += f" | site {name} latitude={latitude} longitude={longitude} ground_m=10"
    return compact.run(folder, design(*hops), others)


def loudest(evaluation) -> dict[str, str | None]:
    """By sender and receiver of each direction: the site of the loudest other sender."""
    radio = evaluation.radio
    ways = radio.hops.directions
    return {
        way.sender.site_name + way.receiver.site_name: None
        if one < 0
        else ways[one].sender.site_name
        for way, one in zip(ways, radio.interference.strongest.tolist(), strict=True)
    }


def test_stations_of_two_hubs_in_step_hear_the_other_hub_and_no_station(tmp_path):
    """B is a far end of A, C of D: while B listens, C does."""
    hops = ("AB:H", "DC:K")
    together = run(tmp_path / "a", *hops)
    assert loudest(together) == {"AB": "D", "BA": "C", "DC": "A", "CD": "B"}
    apart = run(tmp_path / "b", *hops, in_step=False)
    levels = [each.radio.interference.interference_dbm for each in (together, apart)]
    assert (levels[1] >= levels[0]).all() and (levels[1] > levels[0]).any()


def test_two_hubs_of_one_mast_in_step_do_not_hear_each_other(tmp_path):
    found = loudest(run(tmp_path, "AB:H", "AC:K"))
    assert found == {"AB": "A", "BA": "C", "AC": "A", "CA": "B"}


def test_a_hop_typed_from_its_station_keeps_the_half_of_its_site(tmp_path):
    """A sends in one half, however its hops are typed."""
    found = loudest(run(tmp_path, "AB", "CA"))
    assert found == {"AB": "A", "BA": "C", "CA": "B", "AC": "A"}


def test_hubs_send_together_in_whatever_order_hops_are_typed(tmp_path):
    """A and D are hubs, so C sends when they do; B, typed first, sends when E does."""
    found = loudest(run(tmp_path, "BC", "AB:H", "DE:K"))
    assert found["DE"] in ("A", "C") and found["ED"] == "B"


def test_a_chain_of_sites_sends_in_turns(tmp_path):
    """A and C send when B listens: A hears neither C nor its own other hop."""
    assert loudest(run(tmp_path, "AB", "BC"))["BA"] == "B"


@pytest.mark.parametrize("way", ["AB", "BA", "BC", "CB", "CA", "AC"])
def test_a_ring_of_three_has_no_turns(way, tmp_path):
    """No order is right: the third site, silent in a chain while the second listens, is heard."""
    sender = way[0]
    (third,) = {"A", "B", "C"} - {*way}
    chain = run(tmp_path / "a", way, sender + third)
    ring = run(tmp_path / "b", "AB", "BC", "CA")
    levels = [
        dict(zip(loudest(each), each.radio.interference.interference_dbm, strict=True))[way]
        for each in (chain, ring)
    ]
    assert levels[1] > levels[0] + 0.1


def test_without_a_clock_all_are_heard(tmp_path):
    assert loudest(run(tmp_path, "AB", "BC", in_step=False))["AB"] == "B"


def channels(evaluation):
    return [f for f in evaluation.findings if f.check in ("radio-channel", "radio-interference")]


def test_hops_of_one_hub_to_one_site_are_no_neighbours_there(tmp_path):
    assert not channels(run(tmp_path, "AB:H", "AB:H", "AC:H", in_step=False))


@pytest.mark.parametrize("order", [("AB:H", "AB:H", "DB:K"), ("AB:H", "DB:K", "AB:H")])
def test_at_that_site_the_hop_of_another_hub_is_one(order, tmp_path):
    found = [
        f for f in channels(run(tmp_path, *order, in_step=False)) if f.check == "radio-channel"
    ]
    assert found
    for one in found:
        hubs = {order[row_path(one, path)] for path in one.paths}
        assert len(hubs) == 2


def row_path(_finding, path: str) -> int:
    return int(path.removeprefix("P")) - 1


@pytest.mark.parametrize("width", [20, 40])
def test_an_antenna_covers_the_edges_of_the_channel_as_its_radio_does(width, tmp_path):
    """5.5 GHz and 40 MHz: 5.48 to 5.52 GHz."""
    text = design("AB").replace("channel_mhz=40", f"channel_mhz={width}")
    evaluation = compact.run(tmp_path, text, "project region=TEST | site A | site B")
    asked = []
    for of, part in ((radio_demands, "t-radio-ext"), (antenna_demands, "omni-5ghz-10dbi")):
        asked += [d.limit for d in of(evaluation, part, "", []) if d.what == "frequency"]
    half = width / 2000
    assert asked == [f"{5.5 - half:.6g} to {5.5 + half:.6g} GHz"] * 2
    assert np.isfinite(evaluation.radio.hops.channel_mhz).all()
