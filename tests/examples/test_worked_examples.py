"""Published worked examples and identities, through the whole tool: a design, own parts, the JSON.

Sources stand beside each: textbooks with printed answers, sums worked by hand, standards'
tables (as quoted in public notes; powers from memory where the tables were not read).
"""

from pathlib import Path

import pytest
from compact import checked

OPTIC = {
    "part": "x",
    "rate_mbps": 1000,
    "form": "sfp",
    "strands": 2,
    "fiber_mode": "single",
    "tx_nominal_nm": 1310,
    "tx_min_nm": 1310,
    "tx_max_nm": 1310,
    "rx_min_nm": 1200,
    "rx_max_nm": 1600,
    "penalty_db": 0,
    "budget_form": "P",
}
FIBER = {"part": "glass", "mode": "single", "fiber_class": "OS2", "strands": 12}
PAIR = {"part": "pair", "kind": "connector", "max_db": 0.5}
SPLICE = {"part": "joint", "kind": "splice", "max_db": 0.5}


def light(
    folder: Path,
    text: str,
    *,
    attenuation: float,
    others="project repair_allowance_db=0",
    fiber=(),
    joints=(),
    reach=(),
    **optic,
) -> dict:
    """One direction of an optical link between two equal optics."""
    nm = optic.get("tx_nominal_nm", 1310)
    glass = FIBER | {f"max_db_km_{nm}": attenuation, f"min_db_km_{nm}": attenuation} | dict(fiber)
    families = {"optics": [OPTIC | optic], "fibers": [glass], "joints": [PAIR, SPLICE, *joints]}
    if reach:
        families["optic_reach"] = list(reach)
    data = checked(folder, f"optic x | {text} | optic x", others, **families)
    return data["paths"][0]["links"][0]["directions"][0]


# id, rows between the optics, attenuation [dB/km], launch, sensitivity, reserve, margin, source
MARGINS = [
    (
        "W1",
        "connector j07 count=2 | connector j14 | fiber glass 160m extra_loss_db=0.4",
        0.0,
        -20,
        -32,
        0,
        8.8,
        "textbook 'Optical Communications Essentials' (2004) Table 16.2",
    ),
    (
        "W2",
        "fiber glass 10000m extra_loss_db=2",
        0.6,
        -8,
        -22,
        6,
        0.0,
        "textbook 'Introduction to Information Optics' (2001) Table 12.3: 10 km at most",
    ),
    (
        "W3",
        "fiber glass 2000m extra_loss_db=0.5 | connector pair count=5 | splice joint count=2",
        1.0,
        -15,
        -28,
        0,
        7.0,
        "worked by hand",
    ),
    (
        "W3, clock recovery",
        "fiber glass 2000m extra_loss_db=0.5 | connector pair count=5 | splice joint count=2",
        1.0,
        -15,
        -28,
        1,
        6.0,
        "worked by hand",
    ),
    (
        "W4",
        "fiber glass 8000m | connector pair count=7",
        0.5,
        -15,
        -28,
        0,
        5.5,
        "worked by hand",
    ),
    (
        "W5",
        "fiber glass 8000m | connector pair count=12",
        0.5,
        -15,
        -31,
        0,
        6.0,
        "worked by hand",
    ),
    ("W6", "fiber glass 0m", 0.5, -5, -18, 0, 13.0, "worked by hand"),
    (
        "W7",
        "fiber glass 2000m extra_loss_db=3.2",
        3.2,
        -10,
        -25,
        4,
        1.4,
        "optics textbook, Example 8.14(a), companion transcription; result computed",
    ),
    (
        "W8",
        "fiber glass 3850m extra_loss_db=1.6",
        4.0,
        0,
        -25,
        8,
        0.0,
        "optics textbook, Example 8.14(b), companion transcription; result computed",
    ),
    (
        "W13",
        "fiber glass 500m extra_loss_db=16.04",
        6.0,
        -10,
        -35,
        4,
        1.96,
        "public tutorial question bank, chapter 5: 12.04 dB of aperture, two connectors 4 dB",
    ),
]


@pytest.mark.parametrize(
    "rows, attenuation, launch, sensitivity, reserve, margin, source",
    [row[1:] for row in MARGINS],
    ids=[row[0] for row in MARGINS],
)
def test_margin(tmp_path, rows, attenuation, launch, sensitivity, reserve, margin, source):
    way = light(
        tmp_path,
        rows,
        attenuation=attenuation,
        launch_min_dbm=launch,
        launch_max_dbm=launch,
        sensitivity_dbm=sensitivity,
        others=f"project repair_allowance_db={reserve}",
        joints=[PAIR | {"part": "j07", "max_db": 0.7}, PAIR | {"part": "j14", "max_db": 1.4}],
    )
    assert way["margin_db"] == pytest.approx(margin, abs=0.005)
    assert way["margin_basis"] == "power"


@pytest.mark.parametrize(
    "km, overload_margin, attenuator",
    [(0, -7.0, 10), (28, 0.0, 0), (32, 1.0, 0), (0.4, -6.9, 10)],
    ids=["no fiber", "28 km", "32 km", "400 m"],
)
def test_w9_overload(tmp_path, km, overload_margin, attenuator):
    """By hand: +4 dBm into -3 dBm needs 7 dB, or 28 km at 0.25 dB/km.

    10 dB is fitted: a 7 dB piece may lose less at its least.
    """
    way = light(
        tmp_path,
        f"fiber glass {1000 * km:g}m",
        attenuation=0.25,
        launch_min_dbm=0,
        launch_max_dbm=4,
        sensitivity_dbm=-24,
        overload_dbm=-3,
    )
    assert way["overload_margin_db"] == pytest.approx(overload_margin)
    assert way["attenuator_db"] == attenuator


def test_w12_dispersion(tmp_path):
    """Textbook 'Fiber Optics Communications' (2004) p. 444: 200 km at 17 ps/(nm km) is 3400."""
    slope = 17 * 4 / (1550 - 1310**4 / 1550**3)
    way = light(
        tmp_path,
        "fiber glass 200000m",
        attenuation=0.1,
        launch_min_dbm=0,
        sensitivity_dbm=-30,
        tx_nominal_nm=1550,
        tx_min_nm=1550,
        tx_max_nm=1550,
        fiber={
            "zero_dispersion_min_nm": 1310,
            "zero_dispersion_max_nm": 1310,
            "dispersion_slope_ps_nm2_km": slope,
        },
    )
    assert way["dispersion_ps_nm"] == pytest.approx(3400)


# launch, sensitivity, penalty, channel loss -> what is left, by the standard's own table
FORM_P = [
    ("1000BASE-SX on OM1", -9.5, -17.0, 4.29, 2.60, 0.60, "IEEE 802.3-2018 Table 38-5"),
    ("1000BASE-LX", -11.0, -19.0, 3.27, 4.57, 0.16, "IEEE 802.3-2018 Table 38-9"),
    ("S-16.1", -5.0, -18.0, 1.0, 12.0, 0.0, "ITU-T G.957"),
    ("L-16.2", -2.0, -28.0, 2.0, 24.0, 0.0, "ITU-T G.957"),
]
# launch, average receive minimum, channel loss
FORM_C = [
    ("10GBASE-LR", -8.2, -14.4, 6.2, "IEEE 802.3 Clause 52"),
    ("10GBASE-SR", -7.3, -9.9, 2.6, "IEEE 802.3 Clause 52"),
    ("25GBASE-SR", -8.4, -10.3, 1.9, "IEEE 802.3 Clause 112"),
    ("40GBASE-LR4", -7.0, -13.7, 6.7, "IEEE 802.3 Clause 87"),
    ("100GBASE-LR4", -4.3, -10.6, 6.3, "IEEE 802.3 Clause 88"),
]


@pytest.mark.parametrize("row", FORM_P, ids=[row[0] for row in FORM_P])
def test_form_p(tmp_path, row):
    _, launch, sensitivity, penalty, loss, left, _ = row
    way = light(
        tmp_path,
        f"fiber glass 100m measured_db={loss}",
        attenuation=0.4,
        penalty_db=penalty,
        launch_min_dbm=launch,
        launch_max_dbm=launch,
        sensitivity_dbm=sensitivity,
    )
    # the tables round their parts: 7.49 of 7.50 dB
    assert way["margin_db"] == pytest.approx(left, abs=0.0101)


@pytest.mark.parametrize("row", FORM_C, ids=[row[0] for row in FORM_C])
@pytest.mark.parametrize("published", [True, False], ids=["limit", "no limit"])
def test_form_c(tmp_path, row, published):
    """At the channel loss nothing is left, and the receive minimum arrives: no penalty again."""
    _, launch, receive, loss, _ = row
    reach = [{"part": "x", "fiber_class": "OS2", "reach_m": 10_000, "channel_loss_max_db": loss}]
    way = light(
        tmp_path,
        f"fiber glass 100m measured_db={loss}",
        attenuation=0.4,
        budget_form="C",
        penalty_db=3,
        launch_min_dbm=launch,
        launch_max_dbm=launch,
        sensitivity_dbm=receive,
        reach=reach if published else (),
    )
    assert way["margin_db"] == pytest.approx(0, abs=1e-9)
    assert way["received_min_dbm"] == pytest.approx(receive)
    assert way["margin_basis"] == ("channel" if published else "power")
