"""The glass: attenuation by wavelength, dispersion, mismatch of cores, modal bandwidth."""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (Method("chromatic dispersion of single-mode fiber", "ITU-T G.652 Table 2", "08/2024"),)

RANGES = {
    # ITU-T G.652 Table 2: the curve to 1460 nm, a straight line from there to 1625 nm.
    "dispersion_wavelength_nm": (1260.0, 1625.0),
}

#: How far from a column its attenuation still stands [nm]: our own rule, no standard fixes one.
COLUMN_REACH_NM = 15.0
#: Where the curve ends and a straight line goes on [nm], its rise [ps/(nm km) a nm], and the slope
#: at the zero that it belongs to (ITU-T G.652 (08/2024) Table 2: 12.472 + 0.068 (l - 1460)).
LINE_FROM_NM = 1460.0
LINE_PER_NM = 0.068
LINE_SLOPE_PS_NM2_KM = 0.092


def attenuation_db_per_km(
    *, wavelength_nm: Figure, column_nm: Figure, column_db_per_km: Figure
) -> Figure:
    """Attenuation read from the columns of a catalogue [dB/km]; array code.

    Within 15 nm of a column, that column (the nearest; of two as near, the shorter wave);
    between two, a straight line; outside, NaN. A NaN in a column means: no such column.

    wavelength_nm: any shape S. column_nm: (C,), rising. column_db_per_km: S + (C,), or (C,).
    Valid: from 15 nm below the first column to 15 nm above the last; outside, and without any
    column, NaN.
    Source: between columns common practice; 15 nm beside one is a rule of this project.

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


def dispersion_ps_per_nm_km(
    *, wavelength_nm: Figure, zero_dispersion_nm: Figure, dispersion_slope_ps_nm2_km: Figure
) -> Figure:
    """Chromatic dispersion coefficient of single-mode fiber [ps/(nm km)].

    Valid: 1260 to 1460 nm; beyond, greatest_dispersion_ps_per_nm_km is the limit.
    Source: ITU-T G.652 (08/2024), S0/4 (l - l0^4 / l^3).

    >>> print(dispersion_ps_per_nm_km(wavelength_nm=1550, zero_dispersion_nm=1300,
    ...                               dispersion_slope_ps_nm2_km=0.092))
    18.01
    """
    return (
        dispersion_slope_ps_nm2_km / 4 * (wavelength_nm - zero_dispersion_nm**4 / wavelength_nm**3)
    )


def greatest_dispersion_ps_per_nm_km(
    *, wavelength_nm: Figure, zero_dispersion_nm: Figure, dispersion_slope_ps_nm2_km: Figure
) -> Figure:
    """Upper limit of the dispersion coefficient of single-mode fiber [ps/(nm km)].

    zero_dispersion_nm: the lowest, dispersion_slope_ps_nm2_km: the greatest of the fiber. The
    curve to 1460 nm; from there the straight line of the standard, which lies above the curve. A
    fiber that states a lesser slope than the standard's 0.092 keeps its own curve throughout.
    Valid: 1260 to 1625 nm; outside it goes on unbacked.
    Source: ITU-T G.652 (08/2024) Table 2, as quoted in the documents of an optical library.

    >>> print(greatest_dispersion_ps_per_nm_km(wavelength_nm=1550, zero_dispersion_nm=1300,
    ...                                        dispersion_slope_ps_nm2_km=0.092))
    18.592
    """
    curve = dispersion_ps_per_nm_km(
        wavelength_nm=wavelength_nm,
        zero_dispersion_nm=zero_dispersion_nm,
        dispersion_slope_ps_nm2_km=dispersion_slope_ps_nm2_km,
    )
    where_it_ends = dispersion_ps_per_nm_km(
        wavelength_nm=LINE_FROM_NM,
        zero_dispersion_nm=zero_dispersion_nm,
        dispersion_slope_ps_nm2_km=dispersion_slope_ps_nm2_km,
    )
    line = where_it_ends + LINE_PER_NM * (wavelength_nm - LINE_FROM_NM)
    has_line = np.logical_and(
        wavelength_nm > LINE_FROM_NM, dispersion_slope_ps_nm2_km >= LINE_SLOPE_PS_NM2_KM
    )
    return np.where(has_line, np.maximum(curve, line), curve)


def run_dispersion_ps_per_nm(*, length_km: Figure, dispersion_ps_per_nm_km: Figure) -> Figure:
    """Dispersion of a run, without its sign [ps/nm].

    Valid: length_km 0 or more, dispersion of either sign; a negative length would count against.
    Source: ITU-T G.652 (08/2024) Table 2: coefficient times length.

    >>> print(run_dispersion_ps_per_nm(length_km=200, dispersion_ps_per_nm_km=17))
    3400
    """
    return length_km * np.abs(dispersion_ps_per_nm_km)


def worst_dispersion_ps_per_nm_km(
    *,
    tx_min_nm: Figure,
    tx_max_nm: Figure,
    zero_dispersion_min_nm: Figure,
    zero_dispersion_max_nm: Figure,
    dispersion_slope_ps_nm2_km: Figure,
) -> Figure:
    """Greatest |dispersion| over the range of a transmitter and of the fiber [ps/(nm km)].

    Dispersion rises with the wave and falls with its zero: the extremes are the long end with
    the lowest zero and the short end with the highest. Source: ITU-T G.652 (08/2024) Table 2.
    Valid: tx_min_nm up to tx_max_nm within 1260 to 1625 nm (RANGES); outside the curves go on
    unbacked, 0 nm divides by zero.

    >>> print(worst_dispersion_ps_per_nm_km(
    ...     tx_min_nm=1260, tx_max_nm=1360, zero_dispersion_min_nm=1300,
    ...     zero_dispersion_max_nm=1324, dispersion_slope_ps_nm2_km=0.092))
    6.352
    """
    longest = greatest_dispersion_ps_per_nm_km(
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
    "greatest_dispersion_ps_per_nm_km",
    "run_dispersion_ps_per_nm",
    "worst_dispersion_ps_per_nm_km",
)
