"""Figures as a reader of the trade writes them."""

from collections.abc import Iterable


def rate_text(rate_mbps: float) -> str:
    """A rate in Mb/s or Gb/s.

    >>> rate_text(1000), rate_text(2500), rate_text(100)
    ('1 Gb/s', '2.5 Gb/s', '100 Mb/s')
    """
    return f"{rate_mbps / 1000:g} Gb/s" if rate_mbps >= 1000 else f"{rate_mbps:g} Mb/s"


def rate_figure(rate_mbps: float) -> str:
    """A computed rate with no more digits than it has; a small one keeps some.

    >>> rate_figure(227.46), rate_figure(28.24), rate_figure(0.0412), rate_figure(2500.0)
    ('227.5 Mb/s', '28.2 Mb/s', '0.041 Mb/s', '2.5 Gb/s')
    """
    return rate_text(float(f"{rate_mbps:.2g}") if abs(rate_mbps) < 1 else round(rate_mbps, 1))


def window_text(low_nm: float | None, high_nm: float | None) -> str:
    """A range of wavelengths.

    >>> window_text(1260, 1360)
    '1260 to 1360 nm'
    """
    if low_nm is None or high_nm is None:
        return "a range that is not known"
    return f"{low_nm:g} to {high_nm:g} nm"


def length_text(length_m: float) -> str:
    """A length in metres, in kilometres from 10 km on.

    >>> length_text(87.5), length_text(12400)
    ('87.5 m', '12.4 km')
    """
    return f"{length_m / 1000:g} km" if length_m >= 10_000 else f"{round(length_m, 1):g} m"


def each_once(words: Iterable[str]) -> str:
    """Words once each, with commas.

    >>> each_once(["tester", "", "meter", "tester"])
    'tester, meter'
    """
    return ", ".join(dict.fromkeys(word for word in words if word))
