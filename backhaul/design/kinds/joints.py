from backhaul.design.kinds.kind import LIGHT, Kind

CONNECTOR = Kind(
    name="connector",
    title="Mated pairs between the two optics",
    families=("joints",),
    columns=("site", "count"),
    medium=LIGHT,
    per_strand=True,
)
SPLICE = Kind(
    name="splice",
    title="Splices",
    families=("joints",),
    columns=("site", "count"),
    medium=LIGHT,
    per_strand=True,
    divides_run=True,
)
ATTENUATOR = Kind(
    name="attenuator",
    title="Fixed attenuator",
    families=("joints",),
    columns=("site", "count"),
    medium=LIGHT,
    per_strand=True,
)
