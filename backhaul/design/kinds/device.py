from backhaul.design.kinds.kind import Kind

DEVICE = Kind(
    name="device",
    title="Equipment with ports: switch, media converter, injector, supply, camera, recorder",
    families=("devices",),
    columns=("site", "duty_percent", "night_percent"),
    has_ports=True,
    enclosed=True,
)
