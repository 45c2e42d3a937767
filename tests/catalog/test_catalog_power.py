"""Copper, feeds, ports and supplies against the published tables."""

import csv
import math
import re
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


#: IEC 60028 copper, solid, 20 degC [ohm/km], computed from the diameter by AWG
AWG_OHM_PER_KM = {"22": 52.9, "24": 84.1, "26": 133.8}


def awg_ohm_per_km(number):
    """d = 0.127 mm x 92^((36 - n)/39), ASTM B258; 58 MS/m, IEC 60028."""
    diameter_mm = 0.127 * 92 ** ((36 - number) / 39)
    return 1000 / (58 * math.pi / 4 * diameter_mm**2)


def test_copper_is_at_the_limit_of_its_category(catalog):
    """TIA-568.2-D: 9.38 ohm/100 m; a 100 m loop of two conductors stays below 25 ohm.

    Other gauges have the same allowance over solid copper as 24 AWG has.
    """
    gauges = set()
    for part, cable in catalog.coppers.items():
        if cable.pairs == 1:
            continue  # no category of four pairs
        gauge = "24"
        if found := re.search(r"-?(\d\d)awg", part):
            gauge = found[1]
        assert awg_ohm_per_km(int(gauge)) == pytest.approx(AWG_OHM_PER_KM[gauge], rel=0.003)
        allowed = 93.8 * AWG_OHM_PER_KM[gauge] / AWG_OHM_PER_KM["24"]
        assert cable.ohm_per_km == pytest.approx(allowed, abs=0.05), part
        assert cable.ohm_per_km > AWG_OHM_PER_KM[gauge]
        assert 2 * cable.ohm_per_km * 0.1 < 25 or "cord" in part, part
        gauges.add(gauge)
    assert gauges == set(AWG_OHM_PER_KM)


WIRES = [
    row
    for row in table("wired/conductor_resistance.csv")
    if row["material"].startswith("copper") and row["area_mm2"]
]
#: fine-stranded conductors, IEC 60228 Table 3
CLASS_5 = re.compile(r"-(flex|solar)\b")


def test_feeds_are_as_published(catalog):
    published = {
        (float(row["area_mm2"]), row["class"] == "5"): float(row["resistance_20c_ohm_per_km"])
        for row in WIRES
    }
    assert len(catalog.feeds) > 80
    for part, feed in catalog.feeds.items():
        assert feed.ohm_per_km == published[feed.area_mm2, bool(CLASS_5.search(part))], part
        # resistivity of soft copper bounds every conductor from below (IEC 60028, 1/58)
        assert feed.ohm_per_km > 0.98 * 1000 / 58 / feed.area_mm2, part
        assert feed.reactance_ohm_per_km == 0.08  # IEC 60364-5-52 Annex G
        assert feed.outdoor == (part.endswith("-out") or catalog.is_hybrid(part))
        assert feed.conductors == (3 if "-3c" in part else 2)
        assert feed.voltage_grade


CAPACITY_40C = {
    float(r["area_mm2"]): float(r["ampacity_40c_a"]) for r in table("wired/capacity.csv")
}
#: NFPA 70 240.4(D) and the 60 C column of Table 310.16, read in public copies; 18, 16 from memory
AWG_A = {"18": 7, "16": 10, "14": 15, "12": 20, "10": 30, "8": 40, "6": 55, "4": 70}


def test_carrying_capacities_are_as_published(catalog):
    """The 30 C figures x 0.87 are the read 40 C table, rounded down to half an ampere."""
    for part, feed in catalog.feeds.items():
        if part.startswith("awg"):
            assert feed.ampacity_a == AWG_A[part[3:].split("-")[0]]
        elif feed.area_mm2 in CAPACITY_40C:
            published = CAPACITY_40C[feed.area_mm2]
            assert published - 0.5 < 0.87 * feed.ampacity_a <= published, part
        else:  # 0.75, 1 and 35 mm2: below the flexible cords of PUE Table 1.3.8 (16, 18, 150 A)
            assert feed.ampacity_a < {0.75: 16, 1: 18, 35: 150}[feed.area_mm2]


def test_mains_cables_of_three_conductors_exist_in_every_size_that_mains_use(catalog):
    sizes = {(f.area_mm2, f.outdoor) for p, f in catalog.feeds.items() if f.conductors == 3}
    wanted = {(f.area_mm2, f.outdoor) for f in catalog.feeds.values() if f.area_mm2 >= 1.5}
    assert sizes == wanted


def is_classified(port):
    """Power of IEEE 802.3 Clauses 33 and 145; that of one pair has its own test."""
    return port.poe != "none" and port.poe_class != "passive" and port.poe_pairs != 1


def test_every_load_and_source_has_its_highest_voltage(catalog):
    for part, own in {**catalog.devices, **catalog.radios}.items():
        if own.supply != "none":
            assert own.supply_max_volts >= own.supply_volts, part
        if getattr(own, "output", "none") != "none":
            assert own.output_max_volts >= own.output_volts, part
        for port in catalog.ports[part]:
            if port.poe != "none":
                assert port.max_volts >= (port.volts or port.min_volts or 0), part
                assert port.max_volts <= 57 or not is_classified(port), part


def test_no_source_of_ours_harms_a_port_of_its_own_scheme(catalog):
    """IEEE 802.3: 57 V at the most on either side of a cable."""
    for part, ports in catalog.ports.items():
        for port in ports:
            if is_classified(port):
                assert port.max_volts == 57, part


def test_highest_voltages_of_mains(catalog):
    """EN 50160: 230 V + 10 %; ANSI C84.1 range B: 127 and 254 V."""
    highest = {p: catalog.devices[p].output_max_volts for p in catalog.devices if "mains" in p}
    assert highest == {
        "mains-230v": 253,
        "mains-230v-10a": 253,
        "mains-120v": 127,
        "mains-120v-20a": 127,
        "mains-240v": 254,
    }


def test_direct_current_that_harms(catalog):
    """48 V into 24 V, 54 V into 24 V or 12 V, 230 V into 120 V: each above what the load stands."""
    devices, radios = catalog.devices, catalog.radios
    (injector,) = [p for p in catalog.ports["injector-passive-48v-24w"] if p.poe == "source"]
    assert injector.max_volts > radios["radio-5ghz-ht-int"].supply_max_volts
    supply_54v = devices["supply-54v-240w"].output_max_volts
    assert supply_54v > devices["plc-dc"].supply_max_volts
    assert supply_54v > devices["dcdc-12-24-60w"].supply_max_volts
    assert devices["mains-230v"].output_max_volts > devices["ups-120v-1kva"].supply_max_volts


def test_charging_voltages_by_the_cell(catalog):
    """Common practice: lead-acid 2.30 to 2.45 V, lithium iron phosphate 3.65 V a cell at most."""
    for part, device in catalog.devices.items():
        volts = (
            float(part.split("-")[1].removesuffix("v")) if device.charge_w or device.solar_w else 0
        )
        if device.output == "AC":
            continue
        if "lithium" in part:
            assert device.output_max_volts / {24: 8, 48: 16}[volts] == pytest.approx(3.65), part
        elif "battery" in part or part.startswith("solar"):
            assert 2.30 <= device.output_max_volts / (volts / 2) <= 2.45, part


def test_what_recharges_says_what_it_draws(catalog):
    for part, device in catalog.devices.items():
        charges = "-battery" in part or "-lithium" in part or part.startswith("ups-")
        charges = charges and not part.startswith("solar-")
        assert (device.charge_w is not None) == charges, part
        if charges:
            assert 0 < device.charge_w < device.output_w
        assert (device.solar_w is not None) == part.startswith("solar-"), part
        if device.solar_w:
            assert device.battery_wh and device.battery_use_percent <= 80  # IEEE 1013, lead-acid


def test_noise_figures_are_those_of_the_thresholds(catalog):
    """Threshold = thermal noise + noise figure + SNR: the licensed modes name their figure."""
    for part, radio in catalog.radios.items():
        for mode in catalog.radio_modes[part]:
            named = re.search(r"\+ (\d+) dB noise figure", mode.source)
            assert float(named[1]) == radio.noise_figure_db, mode
        assert 3 <= radio.noise_figure_db <= 12


def test_protectors_stand_the_usual_lines(catalog):
    """IEC 60364-5-53 clause 534: at least 1.1 x nominal (from memory); PoE to 57 V."""
    for part, protector in catalog.protectors.items():
        assert protector.supply in ("AC", "DC") and protector.max_volts, part
        if protector.for_ == "copper":
            assert protector.supply == "DC" and protector.max_volts >= 57, part
        elif protector.supply == "AC":
            nominal = float(part.split("-")[3])
            assert protector.max_volts >= 1.1 * nominal, part


CLASSES = {int(row["poe_class"]): row for row in table("wired/poe_classes.csv")}


def test_poe_ports_are_as_the_class_says(catalog):
    """IEEE 802.3 Clauses 33 and 145: power, pairs, voltage of every class."""
    seen = set()
    for ports in catalog.ports.values():
        for port in ports:
            if not is_classified(port):
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
            if port.poe == "load" and is_classified(port):
                need = own.watts if port.watts is None else port.watts
                # what a PoE-fed switch passes on comes on top of its own
                passed = getattr(own, "poe_budget_w", None) or getattr(own, "output_w", None) or 0
                passed /= getattr(own, "efficiency", None) or 1
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
        both = part.startswith("splitter-poe")  # takes PoE, gives data and a feed
        assert both == (bool(catalog.ports[part]) and device.output != "none"), part
        assert catalog.ports[part] or device.output != "none", part
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
    """Common practice: lead-acid 2.27 V float, 1.80 V cut-off a cell; LFP 3.2 and 2.8 V."""
    checked = 0
    for part, device in catalog.devices.items():
        if "lithium" in part:
            cells = {24: 8, 48: 16}[int(part.split("-")[1].removesuffix("v"))]
            assert device.output_min_volts == pytest.approx(2.80 * cells)
            assert device.output_volts == pytest.approx(3.2 * cells)
            checked += 1
        elif "battery" in part or part.startswith("solar"):
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


@pytest.mark.parametrize("volts", [12, 24, 48])
def test_direct_current_finds_a_protector(volts, catalog):
    highest = {12: 14.4, 24: 29.2, 48: 58.4}[volts]  # on charge
    fit = [
        p
        for p in catalog.protectors.values()
        if p.for_ == "feed" and p.supply == "DC" and f"-dc-{volts}" in p.part
    ]
    assert fit and all(p.max_volts >= highest for p in fit)


def test_splitters_give_less_than_their_class_takes(catalog):
    splitters = [p for p in catalog.devices if p.startswith("splitter-poe")]
    assert len(splitters) >= 8
    for part in splitters:
        device = catalog.devices[part]
        (load,) = [port for port in catalog.ports[part] if port.poe == "load"]
        drawn = device.watts + device.output_w / device.efficiency
        assert drawn <= float(CLASSES[load.poe_class]["pd_power_w"]), part
        assert drawn > 0.9 * float(CLASSES[load.poe_class]["pd_power_w"]), part


def test_extenders_start_a_new_channel(catalog):
    for part in ("extender-poe-1g", "extender-poe-bt-1g-out"):
        kinds = [port.poe for port in catalog.ports[part]]
        assert kinds.count("load") == 1 and "source" in kinds
