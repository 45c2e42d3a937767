"""Limits for an equivalent of a hop's part are limits: on them it passes, a step beyond not.

Those of optics, cables and joints: test_optical_offers.py.

The reference is our own evaluation with a catalogue in which that one figure is another, and the
healthy margins of the contract.
"""

import pytest
from small_designs import LIGHT, Typed, changed_catalog, evaluated, line_of, rows

from backhaul.budgets.needed_modes import needed_mode
from backhaul.budgets.requirements import demands
from backhaul.catalog import load_catalog


def demand_of(evaluation, part: str, field: str, sense: str):
    return next(
        demand
        for demand in demands(evaluation, line_of(evaluation, part))
        if demand.field.startswith(field) and demand.sense == sense
    )


HOP = (
    "device switch-12-sfp site=crest label=SW1",
    (
        "radio radio-5ghz-he-ext site=crest to_site=tower height_m=8 to_height_m=8 length_m=1200 "
        "frequency_ghz=5.6 channel_mhz=40 tx_power_dbm=5 antenna=ANTENNA label=H1"
    ),
)
HOP_DEMAND = [{"path": "p", "what": "camera", "up_mbps": "12", "down_mbps": "1"}]


def hop_rows(part: str = "") -> list[dict[str, str]]:
    """A hop with the first catalogue antenna for 5.6 GHz, or another."""
    if not part:
        part = next(
            name
            for name, found in load_catalog().antennas.items()
            if found.frequency_min_ghz and found.frequency_min_ghz <= 5.6 <= found.frequency_max_ghz
        )
    return rows("p", *(line.replace("ANTENNA", part) for line in HOP))


def holds(evaluation) -> bool:
    """Does the needed mode keep margin and availability in both directions?"""
    radio, target = evaluation.radio, evaluation.performance.hops.target_percent
    found = []
    for direction in (0, 1):
        mode = needed_mode(evaluation, direction).mode
        found.append(round(float(radio.modes["margin_db"][mode]), 6) >= 10)
        found.append(radio.modes["availability_percent"][mode] >= target[direction] - 1e-9)
    return all(found)


def test_the_needed_mode_is_the_slowest_that_carries_the_load(tmp_path):
    evaluation = evaluated(tmp_path / "d", hop_rows(), demand=HOP_DEMAND)
    user = evaluation.performance.hops.mode_user_rate_mbps
    for direction in (0, 1):
        needed = needed_mode(evaluation, direction)
        load = evaluation.performance.load[evaluation.radio.links[0].key][direction]
        assert user[needed.mode] * 0.7 >= load  # 30 % headroom, default of the contract
        start = int(evaluation.radio.mode_start[direction])
        assert needed.mode == start or user[needed.mode - 1] * 0.7 < load


#: Figures of a hop that share its margin: file, column, sense, a step to the worse side.
SHARING = (
    ("radio_modes", "sensitivity_dbm", "at most", 0.3),
    ("radio_modes", "tx_power_dbm", "at least", -0.3),
    ("antennas", "gain_dbi", "at least", -0.3),
)


@pytest.mark.parametrize("beyond", [None, 0, 1, 2])
@pytest.mark.parametrize("target", ["99.9", "99.999"])
def test_limits_of_a_hop_are_limits_all_at_once(tmp_path, beyond, target):
    """Every figure on its limit holds; with one of them a step beyond, the hop does not."""
    design, project = hop_rows(), {"availability_percent": target}
    base = evaluated(tmp_path / "d", design, demand=HOP_DEMAND, project=project)
    shifts: dict[str, dict[str, float]] = {"radio_modes": {}, "antennas": {}}
    power = {}
    for number, (file, field, sense, worse) in enumerate(SHARING):
        part = design[1]["part"] if file == "radio_modes" else design[1]["antenna"]
        demand = demand_of(base, part, field, sense)
        step = worse if number == beyond else 0.0
        if field == "tx_power_dbm":  # the row types a lower power than the part can send
            power = {field: demand.limit + step}
        else:
            shifts[file][field] = demand.limit - demand.ours + step
    radio, antenna = design[1]["part"], design[1]["antenna"]
    catalogs = (
        changed_catalog(tmp_path / "r", "radio_modes", radio, shift=shifts["radio_modes"], **power),
        changed_catalog(tmp_path / "a", "antennas", antenna, shift=shifts["antennas"]),
    )
    changed = evaluated(
        tmp_path / "d", design, catalogs=catalogs, demand=HOP_DEMAND, project=project
    )
    assert holds(changed) == (beyond is None)


def test_limits_on_the_sheet_follow_the_margin_wanted(tmp_path):
    """A margin wanted that is 0.3 dB wider takes each of the six figures its share of it."""
    lines = [line for line in LIGHT if "splice" not in line and "cord" not in line]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    book = Typed(evaluation, "optical_links", "order_list", "order_runs", "requirements", "inputs")
    key = next(
        key
        for key in book.layout.spots
        if key.startswith("req.optics.1000base-lx10.") and key.endswith("limit")
    )
    demand = demand_of(evaluation, "1000base-lx10", "launch_min_dbm", "at least")
    assert book.typed({})[key] == pytest.approx(demand.limit, abs=1e-9)
    sharers = {need.sharers for need in demand.needs}
    # launch, sensitivity and penalty of optics, cable, mated pairs
    assert sharers == {5}
    wider = book.typed({"given.rule.optical_margin_db.budget form P": 1.5})
    assert wider[key] == pytest.approx(demand.limit - 0.5 / 5, abs=0.011)
