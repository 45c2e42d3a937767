"""Radio rates and sensitivities against the tables of IEEE 802.11."""

from fractions import Fraction

import numpy as np
import pytest
import wlan_rates


def _index(row):
    # HT numbers its indices through all streams
    return int(row["mcs"]) % 8 if row["family"] == "HT" else int(row["mcs"])


def test_rates_and_sensitivities(table):
    rows = table("computed_wlan_rates.csv").rows
    seen = 0
    for row in rows:
        if row["family"] not in wlan_rates.FAMILIES:
            continue
        seen += 1
        index, width, streams = _index(row), int(row["bandwidth_MHz"]), int(row["streams"])
        rate = wlan_rates.mode_rate_mbps(
            family=row["family"],
            channel_mhz=width,
            index=index,
            streams=streams,
            guard_interval_us=row["guard_interval_us"],
        )
        assert rate == pytest.approx(float(row["rate_Mbps"]), abs=0.1), row
        scheme = wlan_rates.SCHEMES[index]
        assert scheme.modulation == row["modulation"]
        assert scheme.code_rate == Fraction(row["code_rate"])
        assert wlan_rates.FAMILIES[row["family"]].data_subcarriers[width] == int(
            row["data_subcarriers"]
        )
        assert wlan_rates.sensitivity_dbm(index=index, channel_mhz=width) == float(
            row["min_sensitivity_dBm"]
        ), row
        assert wlan_rates.mode_exists(
            family=row["family"], channel_mhz=width, index=index, streams=streams
        ), row
        formula = wlan_rates.ofdm_rate_mbps(
            data_subcarriers=int(row["data_subcarriers"]),
            bits=scheme.bits,
            code_rate=float(scheme.code_rate),
            streams=streams,
            symbol_us=float(wlan_rates.FAMILIES[row["family"]].useful_symbol_us)
            + float(row["guard_interval_us"]),
        )
        assert formula == pytest.approx(float(row["rate_Mbps"]), abs=0.1)
    assert seen >= 200


@pytest.mark.parametrize(
    "mode, expected",
    [
        # IEEE 802.11-2024 tables 19-27, 21-30, 21-38, 27-86 and 802.11be: printed rates, one stream
        (("HT", 20, 7, 0.8), 65.0),
        (("HT", 20, 7, 0.4), 72.2),
        (("HT", 40, 7, 0.4), 150.0),
        (("VHT", 80, 9, 0.8), 390.0),
        (("VHT", 80, 9, 0.4), 433.3),
        (("VHT", 160, 9, 0.4), 866.7),
        (("HE", 20, 11, 0.8), 143.4),
        (("HE", 20, 11, 1.6), 135.4),
        (("HE", 20, 11, 3.2), 121.9),
        (("HE", 160, 11, 0.8), 1201.0),
        (("EHT", 320, 13, 0.8), 2882.4),
        (("EHT", 320, 13, 3.2), 2450.0),
    ],
)
def test_printed_rates(mode, expected):
    family, width, index, guard = mode
    assert wlan_rates.mode_rate_mbps(
        family=family, channel_mhz=width, index=index, streams=1, guard_interval_us=guard
    ) == pytest.approx(expected, abs=0.1)


def test_half_is_rounded_up():
    # IEEE 802.11 prints 29.3 for 26 x 9/8 = 29.25 Mbit/s (VHT80 index 0, 0.8 us)
    assert (
        wlan_rates.mode_rate_mbps(
            family="VHT", channel_mhz=80, index=0, streams=1, guard_interval_us=0.8
        )
        == 29.3
    )


@pytest.mark.parametrize("index, rate", [(1, 385), (4, 1155), (9, 2502.5), (12, 4620)])
def test_single_carrier_at_60_ghz(index, rate):
    # IEEE 802.11-2024 clause 20.5, printed rates
    bits, code_rate, repetition, _ = wlan_rates.SINGLE_CARRIER[index]
    assert wlan_rates.single_carrier_rate_mbps(
        bits=bits, code_rate=float(code_rate), repetition=repetition
    ) == pytest.approx(rate)


@pytest.mark.parametrize(
    "width, index, missing",
    [
        # IEEE 802.11-2024 clause 21.5: combinations left out
        (20, 9, {1, 2, 4, 5, 7, 8}),
        (80, 6, {3, 7}),
        (80, 9, {6}),
        (160, 9, {3}),
        (40, 9, set()),
    ],
)
def test_missing_modes(width, index, missing):
    gone = {
        n
        for n in range(1, 9)
        if not wlan_rates.mode_exists(family="VHT", channel_mhz=width, index=index, streams=n)
    }
    assert gone == missing
    # they are the ones whose coded bits do not fill whole encoders, or whole symbols
    scheme = wlan_rates.SCHEMES[index]
    for n in set(range(1, 9)) - gone:
        bits = (
            wlan_rates.FAMILIES["VHT"].data_subcarriers[width] * scheme.bits * n * scheme.code_rate
        )
        assert bits.denominator == 1


def test_sensitivity_doubles_with_the_channel():
    widths = np.array([20, 40, 80, 160, 320])
    got = [wlan_rates.sensitivity_dbm(index=0, channel_mhz=int(w)) for w in widths]
    assert got == [-82, -79, -76, -73, -70]  # IEEE 802.11-2024 table 27-51
