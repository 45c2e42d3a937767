"""What every kind of segment states about itself; later stages ask, they never test a name."""

from typing import NamedTuple

LIGHT, COPPER, FEED, AIR = "light", "copper", "feed", "air"


class Kind(NamedTuple):
    """A kind of segment: its columns, where it may stand, what it adds to a link.

    A newcomer adds a kind in a known medium with one file beside this one and its name in KINDS.
    """

    name: str
    title: str
    #: families of the catalogue that `part` is looked up in, see `catalog`
    families: tuple[str, ...]
    #: columns that the kind reads besides path, step, kind, part, by, label, note
    columns: tuple[str, ...]
    #: columns without which its figures cannot be had
    wanted: tuple[str, ...] = ()
    #: what it carries along its link; None for equipment with ports
    medium: str | None = None
    #: equipment with ports: links begin and end at it
    has_ports: bool = False
    #: the two ends of an optical link
    ends_light: bool = False
    #: runs from `site` to `to_site`, has a length, is cut from order lengths
    is_run: bool = False
    #: stands in an enclosure, whose rise over ambient counts
    enclosed: bool = False
    #: in line beside a run that it protects
    protects: bool = False
    #: a physical thing counted by piece (a device), not by metre
    #: strands multiply the order (joints and attenuators are per strand)
    per_strand: bool = False
    #: joints: splices divide a run into sections for the statistical loss
    divides_run: bool = False
