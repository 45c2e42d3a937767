"""Verdicts as formulas: the same words for a number, an array and a live cell.

Figures are compared to six decimals on both sides, since 0.3 - 0.1 - 0.2 is 0 in a spreadsheet
and a little less in binary arithmetic.
"""

import numpy as np

from backhaul.findings import FAIL, PASS, THIN
from backhaul.units import DECIMALS


def margin_verdict(*, margin, healthy):
    """fail below 0, thin below the healthy value, else pass.

    >>> print(margin_verdict(margin=1.2, healthy=2.0))
    thin
    """
    return np.where(
        np.round(margin, DECIMALS) < 0,
        FAIL,
        np.where(np.round(margin, DECIMALS) < np.round(healthy, DECIMALS), THIN, PASS),
    )


def at_most(*, value, limit):
    """fail above the limit, else pass.

    >>> print(at_most(value=6.2, limit=6.0))
    fail
    """
    return np.where(np.round(value, DECIMALS) > np.round(limit, DECIMALS), FAIL, PASS)


def dispersion_verdict(*, value, limit, from_reach):
    """fail above a stated limit; thin above one that was only computed from the reach, else pass.

    from_reach: 1 where the limit is the dispersion of the reach on the standard's fiber, else 0.

    >>> print(dispersion_verdict(value=66.0, limit=63.6, from_reach=0))
    fail
    >>> print(dispersion_verdict(value=66.0, limit=63.6, from_reach=1))
    thin
    """
    return np.where(
        np.round(value, DECIMALS) > np.round(limit, DECIMALS),
        np.where(from_reach > 0, THIN, FAIL),
        PASS,
    )


def at_least(*, value, limit):
    """fail below the limit, else pass.

    >>> print(at_least(value=42.0, limit=42.5))
    fail
    """
    return np.where(np.round(value, DECIMALS) < np.round(limit, DECIMALS), FAIL, PASS)


def thin_above(*, value, limit):
    """thin above the limit, else pass.

    >>> print(thin_above(value=6.1, limit=5.0))
    thin
    """
    return np.where(np.round(value, DECIMALS) > np.round(limit, DECIMALS), THIN, PASS)


def optical_margin_verdict(*, margin, healthy, repair_allowance):
    """fail where the loss breaks the limit even without repairs, thin below the healthy margin.

    margin: after the repair allowance is taken off.

    >>> print(optical_margin_verdict(margin=-0.4, healthy=2.0, repair_allowance=1.0))
    thin
    >>> print(optical_margin_verdict(margin=-1.4, healthy=2.0, repair_allowance=1.0))
    fail
    """
    return np.where(
        np.round(margin + repair_allowance, DECIMALS) < 0,
        FAIL,
        np.where(np.round(margin, DECIMALS) < np.round(healthy, DECIMALS), THIN, PASS),
    )
