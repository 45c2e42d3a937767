"""Figures and places as a reader of the trade writes them."""

from collections.abc import Iterable, Sequence

from backhaul.units import DECIMALS, M_PER_KM

#: A share of the year above this is no better known: ITU-R P.530 gives rain down to 0.001 %.
BEST_KNOWN_PERCENT = 99.999
#: The same in a cell of the workbook.
AVAILABILITY_FORMAT = f'[>{BEST_KNOWN_PERCENT}]"≥ {BEST_KNOWN_PERCENT}";0.0000'
#: Digits behind the point of a limit that was typed or published, and so stands as it is.
_TYPED_DIGITS = 3
#: Shorter lengths are told as they were typed.
_SHORT_M = 10.0
#: Nearer than this to an end of a hop a place is told in metres.
_NEAR_KM = 0.1


def against(value: float, limit: float, digits: int = 1) -> tuple[str, str]:
    """A figure and its limit with the digit that decides: they read equal only where they are.

    digits: behind the point, at the least for the figure, at the most for a limit that is computed.

    >>> against(9.96, 10.0), against(9.999, 10.0), against(9.4, 10.0)
    (('9.96', '10'), ('9.999', '10'), ('9.4', '10'))
    >>> against(97.31, 97.2649, 1), against(10.0, 10.0), against(12.0, float("nan"))
    (('97.31', '97.26'), ('10.0', '10'), ('12.0', 'nan'))
    >>> against(-0.1, -0.0)
    ('-0.1', '0')
    """
    have, want = float(value), float(limit) + 0.0  # never "-0"
    real = _sign(round(have, DECIMALS) - round(want, DECIMALS))
    for places in range(digits, DECIMALS + 1):
        words = f"{have:.{places}f}", _limit_text(want, places)
        if _sign(float(words[0]) - float(words[1])) == real:
            return words
    return f"{have:.{digits}f}", _limit_text(want, digits)


def whole_against(value: float, limit: float) -> tuple[str, str]:
    """The same of two figures that are whole more often than not.

    >>> whole_against(87, 85.0), whole_against(85.04, 85.0), whole_against(-8.0, 0)
    (('87', '85'), ('85.04', '85'), ('-8', '0'))
    """
    have, want = against(value, limit, 0)
    plain = f"{float(value):.6g}"
    return (plain if float(plain) != float(want) or value == limit else have), want


def _sign(difference: float) -> int:
    return (difference > 0) - (difference < 0)


def _limit_text(limit: float, places: int) -> str:
    typed = f"{limit:.6g}"
    is_typed = abs(float(typed) - limit) < 10.0**-DECIMALS
    if is_typed and "e" not in typed and len(typed.partition(".")[2]) <= _TYPED_DIGITS:
        return typed
    return f"{limit:.{places}f}"


def shares_against(percent: float, target: float) -> tuple[str, str]:
    """A share of the year beside what is wanted of it, with the digit that decides.

    >>> shares_against(99.9876, 99.9), shares_against(99.89996, 99.9), shares_against(100.0, 99.9)
    (('99.988 %', '99.9 %'), ('99.89996 %', '99.9 %'), ('≥ 99.999 %', '99.9 %'))
    """
    if percent > BEST_KNOWN_PERCENT:
        return availability_text(percent), f"{target:.7g} %"
    have, want = against(percent, target, 3)
    return f"{have} %", f"{want} %"


def availability_text(percent: float, digits: int = 3) -> str:
    """A share of the year, no better than the method knows it, never rounded up.

    >>> availability_text(100.0), availability_text(99.9876), availability_text(99.99899)
    ('≥ 99.999 %', '99.987 %', '99.998 %')
    """
    if percent > BEST_KNOWN_PERCENT:
        return f"≥ {BEST_KNOWN_PERCENT:g} %"
    factor = 10**digits
    return f"{int(round(percent * factor, DECIMALS)) / factor:.{digits}f} %"


def rate_text(rate_mbps: float) -> str:
    """A rate in Mb/s or Gb/s.

    >>> rate_text(1000), rate_text(2500), rate_text(100)
    ('1 Gb/s', '2.5 Gb/s', '100 Mb/s')
    """
    if rate_mbps >= 1000:
        return f"{rate_mbps / 1000:.9g} Gb/s"
    return f"{rate_mbps:.9g} Mb/s"


def rate_digits(rate_mbps: float, limit_mbps: float) -> int:
    """Digits behind the point with which a rate does not read as its limit.

    >>> rate_digits(28.2, 16.2), rate_digits(16.24, 16.2), rate_digits(5.0, 5.0)
    (1, 2, 1)
    """
    for digits in range(1, DECIMALS + 3):  # a Gb/s has three more
        if rate_figure(rate_mbps, digits) != rate_figure(limit_mbps, digits):
            return digits
    return 1


def rate_figure(rate_mbps: float, digits: int = 1) -> str:
    """A computed rate with no more digits than it has; a small one keeps some.

    >>> rate_figure(227.46), rate_figure(28.24), rate_figure(0.0412), rate_figure(1293.6)
    ('227.5 Mb/s', '28.2 Mb/s', '0.041 Mb/s', '1.29 Gb/s')
    """
    if abs(rate_mbps) < 1:
        return rate_text(float(f"{rate_mbps:.{digits + 1}g}"))
    if round(abs(rate_mbps), digits) >= 1000:  # as many digits of Gb/s
        return rate_text(round(rate_mbps, digits - 2))
    return rate_text(round(rate_mbps, digits))


def number_format(digits: int) -> str:
    """Number format of a cell with so many digits behind the point.

    >>> number_format(2), number_format(0)
    ('0.00', '0')
    """
    return "0." + "0" * digits if digits else "0"


def window_text(low_nm: float | None, high_nm: float | None) -> str:
    """A range of wavelengths.

    >>> window_text(1260, 1360)
    '1260 to 1360 nm'
    """
    if low_nm is None or high_nm is None:
        return "a range that is not known"
    return f"{low_nm:g} to {high_nm:g} nm"


def lengths_against(length_m: float, limit_m: float) -> tuple[str, str]:
    """Two lengths with the digit that tells them apart.

    >>> lengths_against(94.0, 89.5), lengths_against(620.0, 751.43), lengths_against(97.31, 97.27)
    (('94 m', '89.5 m'), ('620 m', '751.4 m'), ('97.3 m', '97.27 m'))
    """
    have, want = length_text(length_m), length_text(limit_m)
    if have != want:
        return have, want
    have, want = against(length_m, limit_m)
    return f"{have} m", f"{want} m"


def length_text(length_m: float) -> str:
    """A length in metres, in kilometres from 10 km on.

    >>> length_text(87.5), length_text(12400), length_text(30.48), length_text(3.048)
    ('87.5 m', '12.4 km', '30.5 m', '3.048 m')
    """
    if length_m >= 10_000:
        return f"{length_m / 1000:g} km"
    return f"{round(length_m, 1 if length_m >= _SHORT_M else 3):g} m"


def along_text(at_km: float) -> str:
    """A place along a hop, in metres where it is near the end.

    >>> along_text(1.374), along_text(0.0104)
    ('1.37 km', '10 m')
    """
    return f"{at_km:.2f} km" if at_km >= _NEAR_KM else f"{at_km * M_PER_KM:.0f} m"


def listed_with_and(words: Sequence[str]) -> str:
    """Words in a sentence.

    >>> listed_with_and(["sun_hours"]), listed_with_and(["a", "b", "c"])
    ('sun_hours', 'a, b and c')
    """
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def each_once(words: Iterable[str]) -> str:
    """Words once each, with commas.

    >>> each_once(["tester", "", "meter", "tester"])
    'tester, meter'
    """
    return ", ".join(dict.fromkeys(word for word in words if word))


def steps_text(places: Iterable[tuple[str | None, float | None]]) -> str:
    """Paths and steps, each path once.

    >>> steps_text([("top", 6), ("top", 8.5), ("hut", 2), ("hut", 2), ("mast", None)])
    'top step 6, 8.5; hut step 2; mast'
    """
    steps: dict[str, dict[str, None]] = {}
    for path, step in places:
        told = steps.setdefault(path or "", {})
        if step is not None:
            told[f"{step:g}"] = None
    return "; ".join(
        f"{path} step {', '.join(told)}".strip() if told else path for path, told in steps.items()
    )


def named(kind: str, part: str) -> str:
    """A part with its kind before it, where its name does not say so.

    >>> named("protector", "protector-copper-1g"), named("optic", "1000base-lx10")
    ('protector-copper-1g', 'optic 1000base-lx10')
    """
    return part if part.startswith(f"{kind}-") else f"{kind} {part}"
