"""Further figures of hops that the record carries beside those of the contract."""

from typing import Any

import numpy as np

from backhaul.figures.arrays import numbers
from backhaul.physics.geometry import magnetic_azimuth_deg
from backhaul.physics.multipath import METHOD_NAMES


def hop_extras(radio: Any) -> dict[str, Any]:
    """Columns by hop: what the mirror takes with waves, which method and case held, azimuths.

    A site without a declination takes that of the far one.
    """
    hops, reflection = radio.hops, radio.reflection
    declination = [
        numbers(getattr(pair[end], "declination_deg", None) for pair in hops.site_pairs)
        for end in (0, 1)
    ]
    either = [
        np.where(np.isnan(own), other, own) for own, other in (declination, declination[::-1])
    ]
    return {
        "azimuth_magnetic_deg": np.asarray(
            magnetic_azimuth_deg(azimuth_deg=hops.azimuth_deg, declination_deg=either[0])
        ),
        "to_azimuth_magnetic_deg": np.asarray(
            magnetic_azimuth_deg(azimuth_deg=hops.to_azimuth_deg, declination_deg=either[1])
        ),
        "reflection_loss_waves_db": reflection.waves_loss_db,
        "reflection_at_km": reflection.at_km,
        "null_spacing_m": reflection.null_spacing_m,
        "diversity_spacing_m": reflection.diversity_spacing_m,
        "clearance_case": [str(case) or None for case in radio.clearance.case],
        "multipath_method": [METHOD_NAMES[method] for method in radio.multipath_method],
        "rain_polarization": [
            "vertical" if vertical else "horizontal" for vertical in radio.rain_vertical[::2]
        ],
    }
