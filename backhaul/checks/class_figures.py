"""Verdicts that stand on the figures of a class, not on those of a part that was chosen."""

from collections.abc import Iterator

from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import best_of_modes
from backhaul.findings import NOTE, Finding
from backhaul.units import DECIMALS

#: By so much a real radio is better or worse in its threshold than its class [dB]: common
#: practice, stated in the catalogue.
CLASS_TOLERANCE_DB = 3.0
_OWN_FIGURES = "data sheet"


def class_thresholds(context: Context) -> Iterator[Finding]:
    """assumption: the margin of a hop lies so near a limit that the class of its radio decided."""
    radio = context.radio
    best, healthy = best_of_modes(radio, "margin_db"), radio.values["healthy_margin_db"]
    told = set()
    for way in radio.hops.directions:
        margin, part = float(best[way.place]), way.receiver.radio.part
        limits = (0.0, float(healthy[way.place]))
        near = [
            limit for limit in limits if round(abs(margin - limit), DECIMALS) <= CLASS_TOLERANCE_DB
        ]
        if not near or way.hop in told or not _of_class(context, part):
            continue
        told.add(way.hop)
        yield on_link(
            "assumption",
            NOTE,
            way.link,
            way.row,
            "part",
            f"margin {margin:.1f} dB{way.from_site}, limit {near[-1]:g} dB: decided by a class "
            f"figure, a real {part} may be {CLASS_TOLERANCE_DB:g} dB better or worse",
            remedy="confirm the threshold with the data sheet, in a catalogue of your own",
            value=margin,
            limit=near[-1],
            unit="dB",
            source="common practice",
        )


def _of_class(context: Context, part: str) -> bool:
    """No threshold of the radio is from a data sheet."""
    modes = context.catalog.radio_modes.get(part, ())
    return all(mode.basis != _OWN_FIGURES for mode in modes)
