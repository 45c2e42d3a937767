"""Limits for an equivalent are limits: on them a part passes, a step beyond it does not.

The reference is our own evaluation with a catalogue in which that one figure is another, and the
healthy margins of the contract.
"""

import pytest
from small_designs import LIGHT, Typed, changed_catalog, evaluated, line_of, rows

from backhaul.budgets.requirements import demands
from backhaul.budgets.requirements_radio import needed_mode
from backhaul.catalog import load_catalog


def demand_of(evaluation, part: str, field: str, sense: str):
    return next(
        demand
        for demand in demands(evaluation, line_of(evaluation, part))
        if demand.field.startswith(field) and demand.sense == sense
    )


@pytest.mark.parametrize(
    ("field", "sense", "worse", "kept"),
    [
        ("launch_min_dbm", "at least", -0.02, "margin_db"),
        ("sensitivity_dbm", "at most", 0.02, "margin_db"),
        ("penalty_db", "at most", 0.02, "margin_db"),
        ("launch_max_dbm", "at most", 0.02, "overload_margin_db"),
        ("overload_dbm", "at least", -0.02, "overload_margin_db"),
    ],
)
def test_limits_of_an_optic_are_limits(tmp_path, field, sense, worse, kept):
    """A part exactly on the limit passes; a step beyond, margin or overload does not."""
    design = rows("p", *LIGHT)
    wanted = {"optical_margin_db": "1"}
    base = evaluated(tmp_path / "d", design, project=wanted)
    limit = demand_of(base, "1000base-lx10", field, sense).limit
    healthy = {"margin_db": 1.0, "overload_margin_db": 0.0}[kept]
    for step, passes in ((0.0, True), (worse, False)):
        figures = {field: limit + step}
        if field == "launch_max_dbm":
            figures["launch_min_dbm"] = min(limit + step, -9.0)
        own = changed_catalog(tmp_path / f"c{passes}", "optics", "1000base-lx10", **figures)
        changed = evaluated(tmp_path / "d", design, catalogs=(own,), project=wanted)
        margins = changed.optical.values[kept]
        assert (round(float(margins.min()), 6) >= healthy) == passes
        assert (changed.optical.values["margin_db"] > 0.9).all()


@pytest.mark.parametrize("length", [1700, 4000])
def test_limit_of_a_cable_is_a_limit(tmp_path, length):
    design = rows("p", *(line.replace("length_m=1700", f"length_m={length}") for line in LIGHT))
    base = evaluated(tmp_path / "d", design, project={"optical_margin_db": "1"})
    limit = demand_of(base, "os2-12", "max_db_km_1310", "at most").limit
    for step, passes in ((0.0, True), (0.002, False)):
        own = changed_catalog(
            tmp_path / f"c{passes}",
            "fibers",
            "os2-12",
            max_db_km_1310=limit + step,
            typical_db_km_1310=0.2,
            min_db_km_1310=0.2,
        )
        changed = evaluated(
            tmp_path / "d", design, catalogs=(own,), project={"optical_margin_db": "1"}
        )
        values = changed.optical.values
        keeps = (values["margin_db"].round(6) >= 1).all()
        within = (values["loss_max_db"].round(6) <= values["channel_limit_db"]).all()
        assert bool(keeps and within) == passes


def test_limit_of_a_channel_limit_in_form_c(tmp_path):
    lines = [
        line.replace("1000base-lx10-i", "10gbase-lr")
        .replace("1000base-lx10", "10gbase-lr")
        .replace("switch-ind-6-sfp-2-sfp+", "switch-12-sfp+")
        .replace("switch-12-sfp ", "switch-12-sfp+ ")
        for line in LIGHT
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    demand = demand_of(evaluation, "10gbase-lr", "channel_loss_max_db", "at least")
    margin = float(evaluation.optical.values["margin_db"].min())
    # published limit 6.2 dB (IEEE 802.3 Clause 52) less margin, plus the 0.5 dB held healthy
    assert demand.limit == pytest.approx(6.2 - margin + 0.5, abs=0.01)
    fields = {d.field for d in demands(evaluation, line_of(evaluation, "10gbase-lr"))}
    assert "launch_min_dbm" not in fields


HOP = (
    "device switch-12-sfp site=crest label=SW1",
    "radio radio-5ghz-he-ext site=crest to_site=tower height_m=8 to_height_m=8 length_m=1200 "
    "frequency_ghz=5.6 channel_mhz=40 tx_power_dbm=5 antenna=ANTENNA label=H1",
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


@pytest.mark.parametrize(
    ("file", "field", "sense", "worse"),
    [
        ("radio_modes", "sensitivity_dbm", "at most", 0.15),
        ("antennas", "gain_dbi", "at least", -0.15),
    ],
)
@pytest.mark.parametrize("target", ["99.9", "99.999"])
def test_limits_of_a_hop_are_limits(tmp_path, file, field, sense, worse, target):
    design, project = hop_rows(), {"availability_percent": target}
    base = evaluated(tmp_path / "d", design, demand=HOP_DEMAND, project=project)
    part = design[1]["part"] if file == "radio_modes" else design[1]["antenna"]
    demand = demand_of(base, part, field, sense)
    shift = demand.limit - demand.ours
    for step, passes in ((0.0, True), (worse, False)):
        far = "far-antenna" if file == "antennas" else ""  # the far end stays as it is
        own = changed_catalog(
            tmp_path / f"c{passes}", file, part, copy=far, shift={field: shift + step}
        )
        other = [design[0], design[1] | ({"to_antenna": far} if far else {})]
        changed = evaluated(
            tmp_path / "d", other, catalogs=(own,), demand=HOP_DEMAND, project=project
        )
        assert holds(changed) == passes


def test_limits_on_the_sheet_follow_the_margin_wanted(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(evaluation, "optical_links", "order_list", "inputs")
    key = next(
        key
        for key in book.layout.spots
        if key.startswith("must.optics.1000base-lx10.") and key.endswith("limit")
    )
    limit = demand_of(evaluation, "1000base-lx10", "launch_min_dbm", "at least").limit
    assert book.typed({})[key] == pytest.approx(limit, abs=1e-9)
    wider = book.typed({"given.rule.healthy.P": 3.0})
    assert wider[key] == pytest.approx(limit + 1, abs=0.011)
