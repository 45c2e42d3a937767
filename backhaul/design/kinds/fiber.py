from backhaul.design.kinds.kind import LIGHT, Kind

FIBER = Kind(
    name="fiber",
    title="Fiber run or patch cord",
    families=("fibers",),
    columns=(
        "length_m",
        "strand",
        "site",
        "to_site",
        "extra_loss_db",
        "measured_db",
        "measured_nm",
        "route",
    ),
    wanted=("length_m",),
    medium=LIGHT,
    is_run=True,
)
