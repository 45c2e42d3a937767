"""The glass: attenuation by wavelength, dispersion, mismatch of cores, modal bandwidth."""

import numpy as np

from backhaul.methods import Method

METHODS = (Method("chromatic dispersion of single-mode fiber", "ITU-T G.652 Table 2", "11/2016"),)

RANGES = {
    # ITU-T G.652: the curve holds to 1460 nm; beyond, to 1625 nm, it is an upper envelope.
    "dispersion_wavelength_nm": (1260.0, 1625.0),
}

#: How far from a column its attenuation still stands [nm]: our own rule, no standard fixes one.
COLUMN_REACH_NM = 15.0


def attenuation_db_per_km(*, wavelength_nm, column_nm, column_db_per_km):
    """Attenuation read from the columns of a catalogue [dB/km]; array code.

    Within 15 nm of a column, that column (the nearest; of two as near, the shorter wave);
    between two, a straight line; outside, NaN. A NaN in a column means: no such column.

    wavelength_nm: any shape S. column_nm: (C,), rising. column_db_per_km: S + (C,), or (C,).

    >>> columns = {"column_nm": [1310, 1550], "column_db_per_km": [0.40, 0.30]}
    >>> attenuation_db_per_km(wavelength_nm=[1323, 1430, 1625], **columns)
    array([0.4 , 0.35, nan])
    """
    wave = np.asarray(wavelength_nm, dtype=float)[..., None]
    value = np.asarray(column_db_per_km, dtype=float)
    column = np.broadcast_to(np.asarray(column_nm, dtype=float), value.shape)
    wave, column, value = np.broadcast_arrays(wave, column, value)
    present = np.isfinite(value)

    def pick(choice):
        return (
            np.take_along_axis(column, choice[..., None], axis=-1)[..., 0],
            np.take_along_axis(value, choice[..., None], axis=-1)[..., 0],
        )

    distance = np.where(present, np.abs(column - wave), np.inf)
    nearest = np.argmin(distance, axis=-1)
    is_near = np.min(distance, axis=-1) <= COLUMN_REACH_NM
    below = np.where(present & (column <= wave), column, -np.inf)
    above = np.where(present & (column >= wave), column, np.inf)
    low_nm, low = pick(np.argmax(below, axis=-1))
    high_nm, high = pick(np.argmin(above, axis=-1))
    is_between = np.isfinite(below.max(axis=-1)) & np.isfinite(above.min(axis=-1))
    span_nm = np.where(high_nm > low_nm, high_nm - low_nm, 1.0)
    between = low + (high - low) * (wave[..., 0] - low_nm) / span_nm
    return np.where(is_near, pick(nearest)[1], np.where(is_between, between, np.nan))


def dispersion_ps_per_nm_km(*, wavelength_nm, zero_dispersion_nm, dispersion_slope_ps_nm2_km):
    """Chromatic dispersion coefficient of single-mode fiber [ps/(nm km)].

    Valid: about 1260 to 1460 nm; to 1625 nm an upper envelope.
    Source: ITU-T G.652 (11/2016), S0/4 (l - l0^4 / l^3).

    >>> print(dispersion_ps_per_nm_km(wavelength_nm=1550, zero_dispersion_nm=1300,
    ...                               dispersion_slope_ps_nm2_km=0.092))
    18.01
    """
    return (
        dispersion_slope_ps_nm2_km / 4 * (wavelength_nm - zero_dispersion_nm**4 / wavelength_nm**3)
    )


def run_dispersion_ps_per_nm(*, length_km, dispersion_ps_per_nm_km):
    """Dispersion of a run, without its sign [ps/nm].

    >>> print(run_dispersion_ps_per_nm(length_km=200, dispersion_ps_per_nm_km=17))
    3400
    """
    return length_km * np.abs(dispersion_ps_per_nm_km)


def worst_dispersion_ps_per_nm_km(
    *,
    tx_min_nm,
    tx_max_nm,
    zero_dispersion_min_nm,
    zero_dispersion_max_nm,
    dispersion_slope_ps_nm2_km,
):
    """Greatest |dispersion| over the range of a transmitter and of the fiber [ps/(nm km)].

    Dispersion rises with the wave and falls with its zero: the extremes are the long end with
    the lowest zero and the short end with the highest. Source: ITU-T G.652 (11/2016).

    >>> print(worst_dispersion_ps_per_nm_km(
    ...     tx_min_nm=1260, tx_max_nm=1360, zero_dispersion_min_nm=1300,
    ...     zero_dispersion_max_nm=1324, dispersion_slope_ps_nm2_km=0.092))
    6.352
    """
    longest = dispersion_ps_per_nm_km(
        wavelength_nm=tx_max_nm,
        zero_dispersion_nm=zero_dispersion_min_nm,
        dispersion_slope_ps_nm2_km=dispersion_slope_ps_nm2_km,
    )
    shortest = dispersion_ps_per_nm_km(
        wavelength_nm=tx_min_nm,
        zero_dispersion_nm=zero_dispersion_max_nm,
        dispersion_slope_ps_nm2_km=dispersion_slope_ps_nm2_km,
    )
    return np.maximum(longest, -shortest)


CELL_FORMULAS = (
    "dispersion_ps_per_nm_km",
    "run_dispersion_ps_per_nm",
    "worst_dispersion_ps_per_nm_km",
)
