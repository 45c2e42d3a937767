"""What a reading that is off hints at: to be looked at on site, no finding."""

from collections.abc import Callable, Mapping
from math import log10
from typing import Any

from backhaul.as_built.judged import GOOD, OFF, SIGN_LEFT_OUT, Judged
from backhaul.budgets.readings_radio import heard_way
from backhaul.budgets.site_index import Terminal
from backhaul.budgets.site_reading import (
    AZIMUTH,
    BREAKER,
    CHAIN,
    CHANNEL,
    HEIGHT,
    LENGTH,
    LEVEL,
    LIGHT,
    LOSS,
    TILT,
    VOLTS,
)
from backhaul.figures.arrays import number
from backhaul.physics.optics import PAIR_MAX_DB
from backhaul.units import M_PER_KM

#: A figure of the trade is recognised within this [dB]: common practice, from memory.
_NEAR_DB = 1.2
#: Beyond the envelope's first side lobe so much is still taken for it [dB]: real dishes are better
#: than the envelope, common practice.
_BETTER_LOBE_DB = 10.0
#: Cross-polar discrimination of an antenna [dB]: 25 to 35, common practice; less with two in line.
_CROSSED_DB = (18.0, 38.0)
#: A loss that no joint explains [dB]: a break, or another fiber.
_BREAK_DB = 8.0
#: Feet in a metre.
_FEET = 3.281
_SAME_DEG = 1.5
_COLD_LINE = "near the voltage without load: a cold line; read again with the load at work"

Others = Mapping[str, Judged]


def hint(judged: Judged, results: Any, others: Others) -> str:
    """What an off reading may come from; blank where nothing is known. others: by key.

    A good voltage may get one, too: a line without its load says nothing of the line.
    """
    wanted = judged.status == OFF or (judged.status == GOOD and judged.reading.kind == VOLTS)
    tell = _HINTS.get(judged.reading.kind)
    if tell is None or not wanted or judged.apart is None:
        return ""
    told = tell(judged, results, others)
    return f"{SIGN_LEFT_OUT}; else {told}" if _is_turned(judged) else told


def _is_turned(judged: Judged) -> bool:
    """A figure that would be good with the other sign."""
    value = judged.value
    if (
        judged.status != OFF
        or judged.reading.kind not in (LEVEL, CHAIN, LOSS, LIGHT)
        or isinstance(value, bool | str)
    ):
        return False
    limits = judged.limits
    return value is not None and limits.lowest <= -value <= limits.highest


def _level(judged: Judged, results: Any, others: Others) -> str:
    apart = judged.apart or 0.0
    if apart > 0:
        return (
            "more than can arrive: transmit power above the design, another antenna, or the sum of "
            "chains read for one"
        )
    words = []
    short = -apart
    if missing := _missing_chain(judged, results, others, short):
        words.append(missing)
    lobe = _first_lobe_db(judged, results)
    if lobe == lobe and lobe - _NEAR_DB <= short <= lobe + _BETTER_LOBE_DB:
        words.append(
            f"one antenna on its first side lobe ({lobe:.0f} dB down or somewhat more): swing it by "
            "more than its beamwidth to both sides and take the highest peak"
        )
    elif lobe == lobe and short > lobe + _BETTER_LOBE_DB:
        words.append("both antennas off their main lobe, or something in the way")
    if _CROSSED_DB[0] <= short <= _CROSSED_DB[1]:
        words.append("polarizations crossed: V at one end, H at the other")
    if not words:
        words.append("aim again at both ends; then connectors, feeder and transmit power")
    return "; or ".join(words)


def _missing_chain(judged: Judged, results: Any, others: Others, short: float) -> str:
    """One chain of several is silent, or far below the others."""
    place = heard_way(Terminal(judged.reading.subject, judged.reading.end))
    chains = int(results.radio.hops.directions[place].receiver.radio.chains or 1)
    if chains < 2:
        return ""
    key = judged.reading.key.replace(f".{LEVEL}.", ".{}.")
    read = {n: others.get(key.format(f"{CHAIN}{n}")) for n in range(1, chains + 1)}
    levels = {n: float(j.value) for n, j in read.items() if j is not None and j.value is not None}  # type: ignore[arg-type]
    if len(levels) > 1:
        low, high = min(levels.values()), max(levels.values())
        if high - low > 2 * _NEAR_DB + _NEAR_DB:
            weak = min(levels, key=levels.__getitem__)
            return f"chain {weak} is {high - low:.1f} dB below the best: its cable, connector or polarization"
        return ""
    gone_db = 10 * log10(chains / (chains - 1))
    if abs(short - gone_db) <= _NEAR_DB:
        return f"one of {chains} chains missing ({gone_db:.1f} dB): read each chain by itself"
    return ""


def _first_lobe_db(judged: Judged, results: Any) -> float:
    """How far the first side lobe is down at the most, by the envelope of ITU-R F.699 [dB]."""
    hop = judged.reading.subject.index
    gains = [
        number(getattr(end.antenna, "gain_dbi", None))
        if end.antenna is not None
        else number(end.radio.antenna_dbi)
        for end in results.radio.hops.ends[hop]
    ]
    known = [gain for gain in gains if gain == gain]
    if not known:
        return float("nan")
    d_per_wavelength_log = (max(known) - 7.7) / 20
    return max(known) - (2 + 15 * d_per_wavelength_log)


def _chain(judged: Judged, _results: Any, _others: Others) -> str:
    if (judged.apart or 0.0) > 0:
        return "the level of all chains together read for one chain"
    return "this chain alone: its cable, connector, or the polarization of its antenna"


def _loss(judged: Judged, _results: Any, others: Others) -> str:
    if judged.why.startswith("below"):
        return (
            "less than the glass alone can lose: the reference was taken with another cord, at another "
            "wavelength, or this is another fiber"
        )
    over = float(judged.value) - judged.limits.highest  # type: ignore[arg-type]
    other_end = [
        each
        for each in others.values()
        if each.reading.kind == LOSS
        and each.reading.subject is judged.reading.subject
        and each.reading.end != judged.reading.end
    ]
    if over > _BREAK_DB:
        return "a break, an open joint, or another fiber: find it with a reflectometer"
    text = (
        f"a dirty pair, most likely ({judged.apart:.1f} dB over what is expected; a clean pair loses "
        f"{PAIR_MAX_DB:g} at most): inspect and clean every face, read again; if it stays, a bend "
        "(then it is worse at a longer wavelength) or a bad splice"
    )
    if other_end and other_end[0].status == GOOD:
        text += "; the other direction is good: look at the plugs of this end's test cords first"
    return text


def _light(judged: Judged, _results: Any, others: Others) -> str:
    losses = [
        each
        for each in others.values()
        if each.reading.kind == LOSS
        and each.reading.subject is judged.reading.subject
        and each.reading.end == judged.reading.end
    ]
    if (judged.apart or 0.0) > 0:
        return "more light than the optic sends: another optic, or an attenuator left out"
    if losses and losses[0].status == GOOD:
        return "the loss is good, so the far optic is weak, of another class, or switched off"
    if -(judged.apart or 0.0) > _BREAK_DB:
        return "as good as dark: strands crossed, the far optic off, or a break"
    return "a dirty pair, most likely: inspect and clean, then read the loss"


def _volts(judged: Judged, _results: Any, _others: Others) -> str:
    value = float(judged.value)  # type: ignore[arg-type]
    values = judged.reading.subject.values
    source = number(values.get("highest_v"))
    if judged.status == GOOD:
        room = source - judged.limits.expected
        is_cold = room > 0 and value - judged.limits.expected > room / 2
        return _COLD_LINE if is_cold else ""
    if judged.why.startswith("above"):
        return "more than the source should give: charging, another tap or another source"
    if value == 0:
        return "no voltage: breaker, fuse or polarity; a licensed electrician"
    return (
        "more drop than computed: a poor joint, thinner conductors, a longer run, or more load; read "
        "the current and the voltage at the source"
    )


def _azimuth(judged: Judged, results: Any, _others: Others) -> str:
    apart = judged.apart or 0.0
    if abs(abs(apart) - 180) <= _SAME_DEG:
        return "the bearing from the far end, turned by 180°"
    site = results.design.sites.get(judged.reading.site)
    declination = number(getattr(site, "declination_deg", None))
    if abs(declination) > _SAME_DEG / 3 and abs(apart + declination) <= _SAME_DEG:
        return f"magnetic taken for true: the declination is {declination:g}°"
    return "aim again; steel beside a compass turns it"


def _tilt(judged: Judged, _results: Any, _others: Others) -> str:
    value, expected = float(judged.value), judged.limits.expected  # type: ignore[arg-type]
    if abs(value + expected) <= _SAME_DEG / 3 < abs(expected):
        return "the sign turned: up is positive"
    return "zero the inclinometer, then take the peak of the level"


def _height(judged: Judged, _results: Any, _others: Others) -> str:
    value, expected = float(judged.value), judged.limits.expected  # type: ignore[arg-type]
    if expected and abs(value / expected - _FEET) < 0.1:
        return "perhaps feet: metres are wanted"
    return "put the height as mounted into the design and check it again: water and clearance hang on it"


def _length(judged: Judged, _results: Any, _others: Others) -> str:
    value, limits = float(judged.value), judged.limits  # type: ignore[arg-type]
    if judged.why.startswith("below"):
        if limits.lowest <= value * M_PER_KM <= limits.highest:
            return "perhaps kilometres: metres are wanted"
        return (
            "shorter than the straight line between its sites: another cable, or another mark read"
        )
    return "put the length into the design and check it again"


def _breaker(judged: Judged, _results: Any, _others: Others) -> str:
    if not judged.apart:
        return ""  # the design has the fault, and says so
    if judged.why.startswith("below"):
        return "it trips on what is drawn; a licensed electrician"
    return "the run can burn before it trips; a licensed electrician"


_HINTS: dict[str, Callable[[Judged, Any, Others], str]] = {
    LEVEL: _level,
    CHAIN: _chain,
    LOSS: _loss,
    LIGHT: _light,
    VOLTS: _volts,
    AZIMUTH: _azimuth,
    TILT: _tilt,
    HEIGHT: _height,
    LENGTH: _length,
    CHANNEL: _length,
    BREAKER: _breaker,
}
