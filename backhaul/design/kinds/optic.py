from backhaul.design.kinds.kind import LIGHT, Kind

OPTIC = Kind(
    name="optic",
    title="Optical transceiver in a port of the device or radio beside it",
    families=("optics",),
    columns=("site", "port"),
    medium=LIGHT,
    ends_light=True,
    enclosed=True,
)
