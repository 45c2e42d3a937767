"""What elevation files told about the hops, as text."""

from collections.abc import Iterator

import numpy as np

from backhaul.design.columns import LAND
from backhaul.elevation.profiles import Filled, Profile
from backhaul.findings import FAIL, NOTE
from backhaul.path.terrain import origin_of
from backhaul.report.lines import Line, in_units_of
from backhaul.units import M_PER_KM
from backhaul.wording import length_text


def exit_status(filled: Filled) -> int:
    """1 where a hop has no profile, else 0."""
    return int(any(remark.severity == FAIL for remark in filled.remarks))


def nothing_to_add(filled: Filled) -> str:
    """Why a design stays as it is, where no profile is new."""
    if any(profile.is_kept for profile in filled.profiles):
        every = all(profile.is_kept for profile in filled.profiles)
        hops = "every hop has" if every else "every hop with a profile has"
        return f"nothing to add: {hops} typed rows, which stand (--replace takes the files')"
    return "no hop has a profile"


def ground_lines(filled: Filled) -> Iterator[Line]:
    """A line a hop, then what is to be said of it, each with its severity."""
    return in_units_of(filled.design, _lines(filled))


def _lines(filled: Filled) -> Iterator[Line]:
    if not filled.profiles:
        yield "the design has no hop", ""
    told = set()
    for profile in filled.profiles:
        yield f"{profile.hop.title}: {_what_it_is(profile)}", ""
        for remark in profile.remarks:
            if remark in told:
                continue
            told.add(remark)
            word = remark.severity.upper() if remark.severity == FAIL else remark.severity
            text = f"  {word}  "
            place = "" if remark.where == profile.hop.title else f"{remark.where}: "
            remedy = f"; {remark.remedy}" if remark.remedy else ""
            yield f"{text}{place}{remark.text}{remedy}", remark.severity
    for name in filled.unused:
        yield f"  {NOTE}  {name} lies under no hop", NOTE


def _what_it_is(profile: Profile) -> str:
    """Length, rows, file, datum, error, what it runs over."""
    hop, terrain = profile.hop, profile.terrain
    if not hop.length_m > 0:
        return "no profile"
    length = f"{hop.length_m / M_PER_KM:.2f} km"
    if profile.is_kept:
        return f"{length}, its typed rows stand (--replace takes the file's)"
    if terrain is None:
        return f"{length}, no profile"
    ground = terrain.ground_m[~np.isnan(terrain.ground_m)]
    said = [
        length,
        f"{len(terrain.distance_m)} rows, a level every {length_text(profile.step_m or 0)}",
    ]
    if len(ground):
        said.append(f"ground {_level(ground.min())} to {_level(ground.max())} m")
    if terrain.cover_m.max() > 0:
        said.append(f"cover up to {_level(terrain.cover_m.max())} m")
    wet = _shares(terrain)
    said += [f"{share:.0%} {name}" for name, share in wet.items()]
    if terrain.sources:
        origin = origin_of(terrain)
        said.append(f"from {'; '.join(origin.files)}, {origin.error_words}")
    return ", ".join(said)


def _level(level_m: float) -> str:
    return f"{round(float(level_m), 1):.10g}"


def _shares(terrain) -> dict[str, float]:
    """Share of the hop over each water."""
    width = np.diff(terrain.distance_m)
    shares: dict[str, float] = {}
    for name in dict.fromkeys(terrain.surface[:-1].tolist()):
        if name != LAND:
            shares[name] = float(width[terrain.surface[:-1] == name].sum() / width.sum())
    return shares
