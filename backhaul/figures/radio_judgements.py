"""What is judged of hops: the check and the live cell ask the same line."""

import numpy as np

from backhaul.figures.judgements import Judgement
from backhaul.figures.verdicts import at_most, margin_verdict, thin_above
from backhaul.findings import FAIL, PASS, THIN
from backhaul.physics import geometry
from backhaul.physics.antennas import LARGEST_SWAY_PER_BEAMWIDTH, RANGES
from backhaul.units import DECIMALS

#: Share of the beam within which the main lobe still meets the far end.
MAIN_LOBE_SHARE = RANGES["offset_per_beamwidth"][1]


def clearance_verdict(*, median_f1, worst_f1, wanted_median_f1, wanted_worst_f1):
    """fail below 0.6 F1 at the median k or below grazing at the worst, thin where P.530 asks more.

    >>> print(clearance_verdict(median_f1=0.8, worst_f1=0.4, wanted_median_f1=1.0,
    ...     wanted_worst_f1=0.3))
    thin
    """
    blocked = np.logical_or(
        np.round(median_f1, DECIMALS) < geometry.FREE_SPACE_CLEARANCE_F1,
        np.round(worst_f1, DECIMALS) < 0,
    )
    short = np.logical_or(
        np.round(median_f1, DECIMALS) < wanted_median_f1,
        np.round(worst_f1, DECIMALS) < wanted_worst_f1,
    )
    return np.where(blocked, FAIL, np.where(short, THIN, PASS))


def pointing_verdict(*, sway_deg, beamwidth_deg):
    """fail where the main lobe misses the far end, thin beyond a quarter of the beam.

    >>> print(pointing_verdict(sway_deg=2.0, beamwidth_deg=6.0))
    thin
    """
    lobe = np.round(sway_deg, DECIMALS) > np.round(MAIN_LOBE_SHARE * beamwidth_deg, DECIMALS)
    wide = np.round(sway_deg, DECIMALS) > np.round(
        LARGEST_SWAY_PER_BEAMWIDTH * beamwidth_deg, DECIMALS
    )
    return np.where(lobe, FAIL, np.where(wide, THIN, PASS))


#: Of a direction.
MARGIN = Judgement(
    "margin",
    "Margin",
    "radio-margin",
    margin_verdict,
    {"margin": "best_margin_db", "healthy": "healthy_margin_db"},
)
OVERLOAD = Judgement(
    "overload",
    "Overload",
    "radio-overload",
    at_most,
    {"value": "received_dbm", "limit": "max_input_dbm"},
    no_limit=("received_dbm", "max_input_dbm"),
)
EIRP = Judgement(
    "eirp",
    "EIRP",
    "radio-eirp",
    at_most,
    {"value": "eirp_dbm", "limit": "eirp_limit_dbm"},
    no_limit=("eirp_dbm", "eirp_limit_dbm"),
)
POINTING = Judgement(
    "pointing",
    "Sway",
    "radio-pointing",
    pointing_verdict,
    {"sway_deg": "sway_deg", "beamwidth_deg": "beam_deg"},
    no_limit=("beam_deg",),
)
#: Of a whole hop.
CLEARANCE = Judgement(
    "clearance",
    "Clearance",
    "radio-clearance",
    clearance_verdict,
    {
        "median_f1": "ratio_median",
        "worst_f1": "ratio_worst",
        "wanted_median_f1": "wanted_median_f1",
        "wanted_worst_f1": "wanted_worst_f1",
    },
)
REFLECTION = Judgement(
    "reflection",
    "Reflection",
    "radio-reflection",
    thin_above,
    {"value": "hop_reflection_loss_db", "limit": "reflection_limit_db"},
    no_limit=("hop_reflection_loss_db",),
)
