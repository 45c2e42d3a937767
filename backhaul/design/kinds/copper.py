from backhaul.design.kinds.kind import COPPER, Kind

COPPER_DROP = Kind(
    name="copper",
    title="Twisted-pair drop; carries power where one end sources and the other needs it",
    families=("coppers",),
    columns=("length_m", "site", "to_site", "port", "to_port", "cable_temperature_c", "route"),
    wanted=("length_m",),
    medium=COPPER,
    is_run=True,
)
