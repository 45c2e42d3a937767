"""Radios, modes, antennas and bands against the published tables and formulas."""

import csv
import math
import re
from itertools import pairwise
from pathlib import Path

import pytest
import wlan_rates

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


def standard_minimum_dbm(mode):
    """The least that the standard asks, which stands beside the class's own threshold."""
    return float(re.match(r"standard's minimum (-\d+) dBm", mode.note)[1])


def test_modes_are_as_the_published_tables(catalog):
    """IEEE 802.11-2024 tables; the pack asks for 0.1 Mbit/s."""
    checked = 0
    for _, mode, family, index, streams in wlan_modes(catalog):
        published = PUBLISHED_RATES.get((family, mode.channel_mhz, index, streams))
        if published:
            assert mode.rate_mbps == pytest.approx(published[0], abs=0.1)
            assert standard_minimum_dbm(mode) == published[1]
            checked += 1
    assert checked > 100


def test_modes_follow_the_numerology(catalog):
    """Every width, those that no table at hand prints too."""
    checked = 0
    for _, mode, family, index, streams in wlan_modes(catalog):
        scheme = index % 8 if family == "HT" else index
        assert wlan_rates.mode_exists(
            family=family, channel_mhz=mode.channel_mhz, index=scheme, streams=streams
        ), mode
        assert mode.rate_mbps == wlan_rates.mode_rate_mbps(
            family=family,
            channel_mhz=mode.channel_mhz,
            index=scheme,
            streams=streams,
            guard_interval_us=0.8,
        )
        doublings = round(math.log2(mode.channel_mhz / 20))
        least = wlan_rates.SCHEMES[scheme].sensitivity_dbm + 3 * doublings
        assert standard_minimum_dbm(mode) == least
        checked += 1
    assert checked > 400


#: IEEE 802.11 clause 17.3.10.2 (from memory; for 60 GHz read in an open-access article)
ALLOWED_NOISE_FIGURE_DB, ALLOWED_IMPLEMENTATION_DB = 10, 5
#: S/N in 20 MHz that the minimum leaves after these, computed for the reference pack
IMPLIED_SNR_DB = {0: 4.0, 2: 9.0, 7: 22.0, 9: 29.0, 11: 34.0}


def noise_dbm(mhz):
    """Boltzmann at 290 K."""
    return 10 * math.log10(1.380649e-23 * 290 * mhz * 1e6 / 1e-3)


def test_receivers_are_noise_noise_figure_and_the_ratio_of_the_mode(catalog):
    """The minimum less the standard's own allowances, plus the class's noise figure.

    One stream on two chains is heard twice: 3 dB less is needed of each.
    """
    checked = 0
    for part, mode, family, index, streams in wlan_modes(catalog):
        radio, scheme = catalog.radios[part], index % 8 if family == "HT" else index
        allowed = ALLOWED_NOISE_FIGURE_DB + ALLOWED_IMPLEMENTATION_DB
        snr = standard_minimum_dbm(mode) - allowed - noise_dbm(mode.channel_mhz)
        expected = noise_dbm(mode.channel_mhz) + radio.noise_figure_db + snr
        combined = 10 * math.log10(radio.chains / streams)
        assert mode.sensitivity_dbm == pytest.approx(expected - combined, abs=0.051), mode
        named = re.search(r"\+ (\d+) dB noise figure \+ (-?[\d.]+) dB SNR", mode.source)
        assert float(named[1]) == radio.noise_figure_db
        assert float(named[2]) == pytest.approx(snr, abs=0.051)
        if scheme in IMPLIED_SNR_DB:
            assert snr == pytest.approx(IMPLIED_SNR_DB[scheme], abs=0.12)
        checked += 1
    assert checked > 700


def test_no_receiver_hears_below_the_noise(catalog):
    """Thermal noise + Shannon's least ratio for what each stream carries, chains combined."""
    checked = 0
    for part, modes in catalog.radio_modes.items():
        radio = catalog.radios[part]
        for mode in modes:
            found = re.fullmatch(r"(HT|VHT|HE|EHT)-MCS(\d+)(?:-(\d)SS)?", mode.mode)
            streams = 1
            if found:
                streams = int(found[3]) if found[3] else int(found[2]) // 8 + 1
            # the whole channel as noise band favours the radio: the bound is the lower for it
            carried = mode.rate_mbps / streams / mode.channel_mhz
            least = noise_dbm(mode.channel_mhz) + 10 * math.log10(2**carried - 1)
            least -= 10 * math.log10(radio.chains / streams)
            assert mode.sensitivity_dbm > least + 3, (part, mode, least)
            # and none is so deaf that a class would mislead beside another
            assert mode.sensitivity_dbm < least + 22, (part, mode, least)
            checked += 1
    assert checked > 2000


def test_classes_are_alike_in_quality(catalog):
    """A 5 GHz and an 18 GHz class stand as far above the bound for like bits a hertz, within 5 dB.

    802.11 needs more: short codes, a preamble, 10 % of packets lost, guard and pilots.
    """
    over = {}
    for part in ("radio-5ghz-he-ext", "radio-18ghz-low"):
        width = {"radio-5ghz-he-ext": 40, "radio-18ghz-low": 40}[part]
        for mode in catalog.radio_modes[part]:
            if mode.channel_mhz == width and "-1SS" not in mode.mode:
                streams = catalog.radios[part].chains
                carried = mode.rate_mbps / streams / width
                bound = noise_dbm(width) + 10 * math.log10(2**carried - 1)
                over.setdefault(part, []).append(mode.sensitivity_dbm - bound)
    means = [sum(values) / len(values) for values in over.values()]
    assert abs(means[0] - means[1]) < 5, means


def test_every_two_stream_class_can_fall_back_to_one(catalog):
    for part, radio in catalog.radios.items():
        if radio.chains < 2:
            continue
        for width in {mode.channel_mhz for mode in catalog.radio_modes[part]}:
            modes = [m for _, m, _, _, s in one_part(catalog, part) if s == 1]
            assert [m for m in modes if m.channel_mhz == width], (part, width)


def one_part(catalog, part):
    return [found for found in wlan_modes(catalog) if found[0] == part]


def test_every_mode_that_exists_is_there(catalog):
    """No hole in the ladder: each width has all indices that the standard has for two streams."""
    for part, modes in catalog.radio_modes.items():
        ours = {
            (m.channel_mhz, i % 8 if f == "HT" else i)
            for p, m, f, i, streams in wlan_modes(catalog)
            if p == part and streams == 2
        }
        if not ours:
            continue
        family = modes[0].mode.partition("-")[0]
        widths = {width for width, _ in ours}
        assert ours == {
            (width, index)
            for width in widths
            for index in range(wlan_rates.FAMILIES[family].indices)
            if wlan_rates.mode_exists(family=family, channel_mhz=width, index=index, streams=2)
        }, part


def test_single_carrier_modes_follow_the_numerology(catalog):
    """IEEE 802.11 Clause 20: 385, 1155, 2502.5, 4620 Mbit/s are printed for 1, 4, 9, 12."""
    printed = {1: 385, 4: 1155, 9: 2502.5, 12: 4620}
    for part in ("radio-60ghz-sc-int", "radio-60ghz-sc-ext"):
        modes = {int(m.mode.removeprefix("SC-MCS")): m for m in catalog.radio_modes[part]}
        assert set(printed) <= set(modes)
        for index, mode in modes.items():
            bits, code_rate, repetition, sensitivity = wlan_rates.SINGLE_CARRIER[index]
            rate = wlan_rates.single_carrier_rate_mbps(
                bits=bits, code_rate=float(code_rate), repetition=repetition
            )
            assert mode.rate_mbps == pytest.approx(printed.get(index, rate), abs=0.05)
            assert mode.rate_mbps == pytest.approx(rate, abs=0.05)
            assert standard_minimum_dbm(mode) == sensitivity
            noise_figure = catalog.radios[part].noise_figure_db
            allowed = ALLOWED_NOISE_FIGURE_DB - noise_figure + ALLOWED_IMPLEMENTATION_DB
            assert mode.sensitivity_dbm == sensitivity - allowed
            assert mode.channel_mhz == wlan_rates.SINGLE_CARRIER_CHANNEL_MHZ


#: bit, code rate and SNR of the licensed ladder: common practice, as radio_modes.csv says
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
        for mode in catalog.radio_modes[part]:
            if mode.mode not in LADDER:
                assert radio.duplex == "TDD", part
                continue
            bits, code_rate, snr = LADDER[mode.mode]
            symbols_mhz = mode.channel_mhz / 1.2
            figure = float(re.search(r"\+ (\d+) dB noise figure", mode.source)[1])
            assert figure == radio.noise_figure_db
            noise = noise_dbm(symbols_mhz) + figure
            assert mode.rate_mbps == pytest.approx(symbols_mhz * bits * code_rate, abs=0.0501)
            assert mode.sensitivity_dbm == pytest.approx(noise + snr, abs=0.0501)
            assert math.log2(1 + 10 ** (snr / 10)) > bits * code_rate
            shannon = 10 * math.log10(2 ** (bits * code_rate) - 1)
            assert 4 < snr - shannon < 6, mode.mode
            checked += 1
    assert checked > 1000


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
