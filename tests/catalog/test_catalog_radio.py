"""Radios, modes, antennas and bands against the published tables and formulas."""

import csv
import math
import re
from itertools import pairwise
from pathlib import Path

import pytest

from backhaul.physics import antennas, wlan
from backhaul.physics.free_space import conducted_limit_dbm

REFERENCE = Path(__file__).parent.parent / "reference"


def table(name):
    with open(REFERENCE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


PUBLISHED_RATES = {
    (row["family"], int(row["bandwidth_MHz"]), int(row["mcs"]), int(row["streams"])): (
        float(row["rate_Mbps"]),
        float(row["min_sensitivity_dBm"]),
    )
    for row in table("radio/computed_wlan_rates.csv")
    if row["guard_interval_us"] == "0.8"
}


def wlan_modes(catalog):
    for part, modes in catalog.radio_modes.items():
        for mode in modes:
            if found := re.fullmatch(r"(HT|VHT|HE|EHT)-MCS(\d+)(?:-(\d)SS)?", mode.mode):
                index = int(found[2])
                streams = int(found[3]) if found[3] else index // 8 + 1
                yield part, mode, found[1], index, streams


def test_modes_are_as_the_published_tables(catalog):
    """IEEE 802.11-2024 tables; the pack asks for 0.1 Mbit/s."""
    checked = 0
    for _, mode, family, index, streams in wlan_modes(catalog):
        published = PUBLISHED_RATES.get((family, mode.channel_mhz, index, streams))
        if published:
            assert mode.rate_mbps == pytest.approx(published[0], abs=0.1)
            assert mode.sensitivity_dbm == published[1]
            checked += 1
    assert checked > 100


def test_modes_follow_the_numerology(catalog):
    """Every width, those that no table at hand prints too."""
    checked = 0
    for _, mode, family, index, streams in wlan_modes(catalog):
        scheme = index % 8 if family == "HT" else index
        assert wlan.mode_exists(
            family=family, channel_mhz=mode.channel_mhz, index=scheme, streams=streams
        ), mode
        assert mode.rate_mbps == wlan.mode_rate_mbps(
            family=family,
            channel_mhz=mode.channel_mhz,
            index=scheme,
            streams=streams,
            guard_interval_us=0.8,
        )
        doublings = round(math.log2(mode.channel_mhz / 20))
        assert mode.sensitivity_dbm == wlan.SCHEMES[scheme].sensitivity_dbm + 3 * doublings
        checked += 1
    assert checked > 400


def test_every_mode_that_exists_is_there(catalog):
    """No hole in the ladder: each width has all indices that the standard has for two streams."""
    for part, modes in catalog.radio_modes.items():
        ours = {
            (m.channel_mhz, i % 8 if f == "HT" else i)
            for p, m, f, i, _ in wlan_modes(catalog)
            if p == part
        }
        if not ours:
            continue
        family = modes[0].mode.partition("-")[0]
        widths = {width for width, _ in ours}
        assert ours == {
            (width, index)
            for width in widths
            for index in range(wlan.FAMILIES[family].indices)
            if wlan.mode_exists(family=family, channel_mhz=width, index=index, streams=2)
        }, part


def test_single_carrier_modes_follow_the_numerology(catalog):
    """IEEE 802.11 Clause 20: 385, 1155, 2502.5, 4620 Mbit/s are printed for 1, 4, 9, 12."""
    printed = {1: 385, 4: 1155, 9: 2502.5, 12: 4620}
    for part in ("radio-60ghz-sc-int", "radio-60ghz-sc-ext"):
        modes = {int(m.mode.removeprefix("SC-MCS")): m for m in catalog.radio_modes[part]}
        assert set(printed) <= set(modes)
        for index, mode in modes.items():
            bits, code_rate, repetition, sensitivity = wlan.SINGLE_CARRIER[index]
            rate = wlan.single_carrier_rate_mbps(
                bits=bits, code_rate=float(code_rate), repetition=repetition
            )
            assert mode.rate_mbps == pytest.approx(printed.get(index, rate), abs=0.05)
            assert mode.rate_mbps == pytest.approx(rate, abs=0.05)
            assert mode.sensitivity_dbm == sensitivity
            assert mode.channel_mhz == wlan.SINGLE_CARRIER_CHANNEL_MHZ


#: bit, code rate and SNR of the licensed ladder: typical of the trade, as radio_modes.csv says
LADDER = {
    "4QAM": (2, 0.80, 7.5),
    "16QAM": (4, 0.80, 14),
    "32QAM": (5, 0.85, 17.5),
    "64QAM": (6, 0.87, 21),
    "128QAM": (7, 0.90, 24.5),
    "256QAM": (8, 0.92, 27.5),
    "512QAM": (9, 0.93, 30.5),
    "1024QAM": (10, 0.94, 33.5),
    "2048QAM": (11, 0.95, 37),
    "4096QAM": (12, 0.95, 40),
}


def test_licensed_modes_are_what_their_source_says(catalog):
    """Noise -173.9752 dBm/Hz: Boltzmann at 290 K. SNR stays above the bound of Shannon."""
    checked = 0
    for part, radio in catalog.radios.items():
        if radio.duplex != "FDD":
            continue
        for mode in catalog.radio_modes[part]:
            bits, code_rate, snr = LADDER[mode.mode]
            symbols_mhz = mode.channel_mhz / 1.2
            figure = float(re.search(r"\+ (\d+) dB noise figure", mode.source)[1])
            noise = -173.9752 + 10 * math.log10(symbols_mhz * 1e6) + figure
            assert mode.rate_mbps == pytest.approx(symbols_mhz * bits * code_rate, abs=0.0501)
            assert mode.sensitivity_dbm == pytest.approx(noise + snr, abs=0.0501)
            assert math.log2(1 + 10 ** (snr / 10)) > bits * code_rate
            checked += 1
    assert checked > 200


def test_modes_are_a_ladder(catalog):
    """A faster mode of a channel hears less and sends no more."""
    for part, modes in catalog.radio_modes.items():
        for width in {mode.channel_mhz for mode in modes}:
            ladder = sorted((m for m in modes if m.channel_mhz == width), key=lambda m: m.rate_mbps)
            for slow, fast in pairwise(ladder):
                assert slow.rate_mbps < fast.rate_mbps, (part, fast)
                assert slow.sensitivity_dbm < fast.sensitivity_dbm, (part, fast)
                assert slow.tx_power_dbm >= fast.tx_power_dbm, (part, fast)
            assert ladder[0].tx_power_dbm == catalog.radios[part].tx_power_dbm


def test_wider_channels_are_faster_and_need_more(catalog):
    for modes in catalog.radio_modes.values():
        by_mode = {}
        for mode in modes:
            by_mode.setdefault(mode.mode, []).append(mode)
        for same in by_mode.values():
            same.sort(key=lambda mode: mode.channel_mhz)
            rates = [mode.rate_mbps for mode in same]
            thresholds = [mode.sensitivity_dbm for mode in same]
            assert rates == sorted(rates) and thresholds == sorted(thresholds)


def test_duplex_halves_face_each_other(catalog):
    for part, low in catalog.radios.items():
        if "-low" not in part:
            continue
        high = catalog.radios[part.replace("-low", "-high")]
        assert (low.tx_min_ghz, low.tx_max_ghz) == (high.rx_min_ghz, high.rx_max_ghz)
        assert (low.rx_min_ghz, low.rx_max_ghz) == (high.tx_min_ghz, high.tx_max_ghz)
        assert low.tx_max_ghz <= high.tx_min_ghz
        low_modes = [mode[1:] for mode in catalog.radio_modes[part]]
        assert low_modes == [mode[1:] for mode in catalog.radio_modes[high.part]]


def test_a_radio_has_modes_ports_and_one_antenna_at_most(catalog):
    for part, radio in catalog.radios.items():
        assert catalog.radio_modes[part] and catalog.ports[part], part
        assert (radio.antenna_dbi is None) == ("-int" not in part), part
        assert (radio.antenna_dbi is None) == (radio.beamwidth_deg is None)
        loads = [port for port in catalog.ports[part] if port.poe == "load"]
        assert len(loads) == (radio.supply == "PoE"), part


def test_dish_gain_follows_the_formula(catalog):
    """Round aperture; half a unit of the last digit, 0.1 dBi and 0.01 degree."""
    dishes = [a for a in catalog.antennas.values() if a.diameter_m is not None]
    assert len(dishes) > 20
    for dish in dishes:
        assert 0.5 <= dish.aperture_efficiency <= 0.65
        gain = antennas.dish_gain_dbi(
            diameter_m=dish.diameter_m,
            frequency_ghz=dish.reference_ghz,
            efficiency=dish.aperture_efficiency,
        )
        assert dish.gain_dbi == pytest.approx(float(gain), abs=0.0501)
        beam = antennas.dish_beamwidth_deg(
            diameter_m=dish.diameter_m, frequency_ghz=dish.reference_ghz
        )
        assert dish.beamwidth_deg == pytest.approx(float(beam), abs=0.00501)


def test_dishes_are_as_the_computed_table(catalog):
    """The rows of the reference pack that have the diameter, frequency and efficiency of ours."""
    ours = {
        (a.diameter_m, a.reference_ghz, a.aperture_efficiency): a for a in catalog.antennas.values()
    }
    checked = 0
    for row in table("radio/computed_dishes.csv"):
        dish = ours.get((float(row["diameter_m"]), float(row["f_GHz"]), float(row["efficiency"])))
        if dish:
            assert dish.gain_dbi == pytest.approx(float(row["gain_dBi"]), abs=0.0501)
            assert dish.beamwidth_deg == pytest.approx(float(row["beamwidth_deg"]), abs=0.00501)
            checked += 1
    assert checked >= 4


@pytest.mark.parametrize(
    "case",
    table("catalog/band_limits.csv"),
    ids=lambda r: f"{r['region']} {r['frequency_ghz']} GHz {r['gain_dbi']} dBi",
)
def test_band_limits_are_as_worked(case, catalog):
    """The most of all rows that allow it, as README.md says how the columns are read."""
    ghz, width, gain = (float(case[key]) for key in ("frequency_ghz", "channel_mhz", "gain_dbi"))
    half = width / 2000
    best = None
    for band in catalog.bands:
        if band.region != case["region"] or not (
            band.frequency_min_ghz <= ghz - half and ghz + half <= band.frequency_max_ghz
        ):
            continue
        if band.gain_min_dbi is not None and gain < band.gain_min_dbi:
            continue
        conducted = _or(band.conducted_max_dbm, math.inf)
        density = _or(band.psd_max_dbm_mhz, math.inf)
        of_eirp = band.conducted_max_dbm is None
        limit = gain + float(
            conducted_limit_dbm(
                conducted_max_dbm=conducted,
                eirp_max_dbm=_or(band.eirp_max_dbm, math.inf),
                psd_max_dbm_mhz=math.inf if of_eirp else density,
                gain_dbi=gain,
                gain_free_dbi=_or(band.gain_free_dbi, 1000.0),
                back_off_db_per_db=_or(band.back_off_db_per_db, 0.0),
                channel_mhz=width,
            )
        )
        if of_eirp:
            limit = min(limit, density + 10 * math.log10(width))
        best = limit if best is None else max(best, limit)
    if case["eirp_max_dbm"]:
        assert best == pytest.approx(float(case["eirp_max_dbm"]), abs=0.05)
    else:
        assert best is None


def _or(value, blank):
    return blank if value is None else value


def test_bands_name_their_rule_and_send_the_reader_to_the_local_one(catalog):
    for band in catalog.bands:
        assert band.rule
        assert "check them" in band.note, band.part
        assert (band.eirp_max_dbm, band.conducted_max_dbm) != (None, None)
