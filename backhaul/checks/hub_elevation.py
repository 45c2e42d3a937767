"""Whether far ends lie in the flat beam of an omnidirectional or sector antenna, up and down."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.hubs import OMNI_DEG, SECTOR_DEG
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.ends import HopEnd
from backhaul.physics.antennas import pointing_loss_db
from backhaul.physics.sectors import omni_elevation_beam_deg, sector_elevation_beam_deg
from backhaul.units import DECIMALS
from backhaul.wording import against

#: At half of a beam an antenna is 3 dB down, at the whole of it 12 dB by the parabola.
HALF_BEAM, WHOLE_BEAM = 0.5, 1.0
SOURCE = "ITU-R F.1336 rec. 2.1 and 3.3, from memory"


def elevation_pointing(context: Context) -> Iterator[Finding]:
    """radio-pointing: a far end above or below the beam of an upright or a shared antenna."""
    hops = context.radio.hops
    for index in range(len(hops.links)):
        for end in hops.ends[index]:
            yield from _judged(context, index, end)


def _judged(context: Context, index: int, end: HopEnd) -> Iterator[Finding]:
    hops = context.radio.hops
    beam, axis = _beam_and_axis_deg(context, index, end)
    tilt = _tilts(context, end)[index]
    off = abs(float(tilt - axis))
    if not round(off - HALF_BEAM * beam, DECIMALS) > 0:
        return
    is_lost = round(off - WHOLE_BEAM * beam, DECIMALS) > 0
    limit = (WHOLE_BEAM if is_lost else HALF_BEAM) * beam
    angle, most = against(off, limit)
    is_upright = hops.beamwidth_deg[index, end.number] >= OMNI_DEG
    loss = pointing_loss_db(offset_deg=WHOLE_BEAM if is_lost else off / beam, beamwidth_deg=1.0)
    yield on_link(
        "radio-pointing",
        FAIL if is_lost else THIN,
        hops.links[index],
        end.row,
        end.column("antenna"),
        f"{hops.ends[index][1 - end.number].name} lies {angle}° "
        f"{'below' if tilt < axis else 'above'} "
        f"{f'the upright antenna at {end.name}' if is_upright else _shared(end, axis)}, {most}° is "
        f"{'the whole' if is_lost else 'half'} of its beam of {beam:.1f}° in elevation: "
        f"{f'more than {loss:.0f}' if is_lost else f'{loss:.1f}'} dB less, which the margin does not count",
        remedy=f"hang the antenna at {end.name} nearer to the height of its far ends, one of less "
        "gain, or a directional antenna for the far ends beside its beam",
        value=off,
        limit=limit,
        unit="degrees",
        source=SOURCE,
    )


def _shared(end: HopEnd, axis_deg: float) -> str:
    return f"the middle ({axis_deg:.1f}°) of the far ends of {end.row.hub}"


def _tilts(context: Context, end: HopEnd) -> np.ndarray:
    """Elevation of the other end, seen from this one, of every hop [degrees]."""
    return context.radio.hop_values["to_tilt_deg" if end.is_far else "tilt_deg"]


def _beam_and_axis_deg(context: Context, index: int, end: HopEnd) -> tuple[float, float]:
    """Beam in elevation and where it points up: upright, or at the middle of a hub's far ends.

    A directional antenna has one beam in both planes (common practice).
    NaN where the antenna is tilted to its one far end, or its figures are not known.
    """
    hops = context.radio.hops
    beam, gain = (float(of[index, end.number]) for of in (hops.beamwidth_deg, hops.gain_dbi))
    if beam >= OMNI_DEG:
        return float(omni_elevation_beam_deg(gain_dbi=gain)), 0.0
    hub = None if end.is_far else hops.hubs.shared(index)
    if hub is None:
        return np.nan, np.nan
    tilts = _tilts(context, end)[np.array(hub.hops)]
    tilts = tilts[~np.isnan(tilts)]
    axis = (tilts.min() + tilts.max()) / 2 if tilts.size else np.nan
    if beam >= SECTOR_DEG:
        beam = float(sector_elevation_beam_deg(gain_dbi=gain, beamwidth_deg=beam))
    return beam, float(axis)
