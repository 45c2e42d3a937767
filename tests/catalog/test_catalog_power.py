"""Copper, feeds, ports and supplies against the published tables."""

import csv
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parent.parent / "reference"


def table(name):
    with open(REFERENCE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


#: a class that the standard does not run on has no row; single pair is another cabling
REACH = [
    row
    for row in table("catalog/copper_reach.csv")
    if "BASE-T" in row["phy"] and "T1L" not in row["phy"]
]


@pytest.mark.parametrize("published", REACH, ids=lambda row: f"{row['phy']} {row['category']}")
def test_copper_reach_is_as_published(published, catalog):
    rows = [row.record for row in catalog.stock("copper_reach")[published["phy"].lower()]]
    ours = {row.category: row.reach_m for row in rows}
    reach = float(published["reach_max_m"])
    assert ours.get(published["category"]) == (reach or None)


def test_cables_join_their_category(catalog):
    assert {row.rate_mbps: row.reach_m for row in catalog.copper_reach["cat6-out"]} == {
        10: 100,
        100: 100,
        1000: 100,
        2500: 100,
        5000: 100,
        10000: 55,
    }
    assert 10000 not in {row.rate_mbps for row in catalog.copper_reach["cat5e"]}
    assert set(catalog.copper_reach) == set(catalog.coppers)
    assert all(catalog.copper_reach.values())


def test_copper_is_at_the_limit_of_its_category(catalog):
    """TIA-568.2-D: 9.38 ohm/100 m; a 100 m loop of two conductors stays below 25 ohm."""
    for part, cable in catalog.coppers.items():
        assert cable.ohm_per_km == 93.8, part
        assert 2 * cable.ohm_per_km * 0.1 < 25


WIRES = [
    row
    for row in table("wired/conductor_resistance.csv")
    if row["material"].startswith("copper") and row["class"] != "5" and row["area_mm2"]
]


def test_feeds_are_as_published(catalog):
    published = {float(row["area_mm2"]): float(row["resistance_20c_ohm_per_km"]) for row in WIRES}
    assert len(catalog.feeds) > 30
    for part, feed in catalog.feeds.items():
        assert feed.ohm_per_km == published[feed.area_mm2], part
        assert feed.reactance_ohm_per_km == 0.08  # IEC 60364-5-52 Annex G
        assert feed.outdoor == part.endswith("-out")


CLASSES = {int(row["poe_class"]): row for row in table("wired/poe_classes.csv")}


def test_poe_ports_are_as_the_class_says(catalog):
    """IEEE 802.3 Clauses 33 and 145: power, pairs, voltage of every class."""
    seen = set()
    for ports in catalog.ports.values():
        for port in ports:
            if port.poe == "none" or port.poe_class == "passive":
                continue
            published = CLASSES[port.poe_class]
            seen.add((port.poe, port.poe_class))
            assert port.poe_pairs == int(published["pairs"]), port
            if port.poe == "source":
                assert port.watts == float(published["pse_power_w"]), port
                assert port.volts in (None, float(published["pse_voltage_min_v"])), port
            else:
                assert port.min_volts == float(published["pd_voltage_min_v"]), port
    assert seen >= {("source", n) for n in (3, 4, 6, 8)} | {("load", n) for n in (2, 3, 4, 6, 8)}


def test_what_a_load_needs_is_within_its_class(catalog):
    for part, ports in catalog.ports.items():
        own = catalog.devices.get(part) or catalog.radios.get(part)
        for port in ports:
            if port.poe == "load" and port.poe_class != "passive":
                need = own.watts if port.watts is None else port.watts
                # what a PoE-fed switch passes on comes on top of its own
                passed = (getattr(own, "poe_budget_w", None) or 0) / (
                    getattr(own, "efficiency", None) or 1
                )
                assert need + passed <= float(CLASSES[port.poe_class]["pd_power_w"]), part


def test_sources_can_feed_one_port_and_have_a_budget(catalog):
    for part, device in catalog.devices.items():
        sources = [port for port in catalog.ports[part] if port.poe == "source"]
        if sources:
            assert device.poe_budget_w is not None, part
            assert device.poe_budget_w >= min(port.watts for port in sources), part
        else:
            assert device.poe_budget_w is None, part


def test_ports_that_pass_on_belong_to_a_fed_device(catalog):
    for part, device in catalog.devices.items():
        for port in catalog.ports[part]:
            if port.poe == "source" and port.volts is None:
                assert device.supply in ("DC", "PoE"), part


def test_devices_have_ports_or_an_output(catalog):
    for part, device in catalog.devices.items():
        assert bool(catalog.ports[part]) != (device.output != "none"), part
        if device.output != "none":
            assert device.output_min_volts <= device.output_volts
            assert device.output_w > 0
        if device.supply != "none":
            assert device.watts > 0 and device.supply_volts and device.supply_min_volts, part
        if device.supply == "AC":
            assert device.power_factor, part


def test_mains_is_as_the_standards_say(catalog):
    """EN 50160: 230 V less 10 %; ANSI C84.1 range A: 114 V at the service."""
    assert catalog.devices["mains-230v"].output_min_volts == pytest.approx(0.9 * 230)
    assert catalog.devices["mains-120v"].output_min_volts == 114


def test_batteries_are_counted_in_cells(catalog):
    """Common practice: lead-acid 2.27 V float and 1.80 V cut-off a cell, 2 V nominal."""
    checked = 0
    for part, device in catalog.devices.items():
        if "battery" in part or part.startswith("solar"):
            cells = int(part.split("-")[1].removesuffix("v")) / 2
            assert device.output_min_volts == pytest.approx(1.80 * cells)
            assert device.output_volts == pytest.approx(2.27 * cells, abs=0.1)
            checked += 1
    assert checked > 10


def test_protectors_cover_every_rate_of_copper(catalog):
    rates = {
        rate
        for protector in catalog.protectors.values()
        if protector.for_ == "copper"
        for rate in protector.rates_mbps
    }
    assert rates == {row.record.rate_mbps for row in catalog.rows("copper_reach")}
    assert {p.supply for p in catalog.protectors.values() if p.for_ == "feed"} == {"AC", "DC"}
