"""The keys that the project's contract fixes for the JSON of `check --json`."""

TOP = "format tool digest verdict methods paths sources cables findings".split()
METHOD = "subject document edition".split()
PATH = (
    "path verdict rate_up_mbps rate_down_mbps bottleneck_step demand_up_mbps demand_down_mbps "
    "latency_us availability_percent segments links"
).split()
SEGMENT = "step kind verdict".split()
LINK = "kind first_step last_step verdict".split()
LINKS = {
    "optical": "length_m directions".split(),
    "radio": (
        "distance_km azimuth_deg to_azimuth_deg tilt_deg to_tilt_deg frequency_ghz "
        "free_space_loss_db gas_loss_db diffraction_loss_db rain_rate_mm_h rain_k rain_alpha "
        "rain_0_01_db earth_bulge_mid_m fresnel_mid_m clearance_ratio clearance_at_km clearance_k "
        "reflection_loss_db reflection_at_water_m reflection_k directions"
    ).split(),
    "copper": (
        "length_m rate_mbps source_step load_step source_w load_w load_v current_a line_loss_w"
    ).split(),
    "feed": (
        "length_m load_w load_v drop_percent current_a line_loss_w loop_ohm short_circuit_a"
    ).split(),
}
DIRECTIONS = {
    "optical": (
        "from_step to_step wavelength_nm launch_min_dbm launch_max_dbm sensitivity_dbm "
        "overload_dbm loss_max_db loss_min_db penalty_db received_min_dbm received_max_dbm "
        "margin_db margin_basis overload_margin_db attenuator_db dispersion_ps_nm "
        "statistical_loss_db statistical_margin_db"
    ).split(),
    "radio": "from_site eirp_dbm received_dbm modes mode_at_target rate_at_target_mbps".split(),
}
MODE = (
    "mode rate_mbps sensitivity_dbm margin_db rain_outage_percent multipath_outage_percent "
    "availability_percent"
).split()
SOURCE = "label site part limit_w used_w class_w".split()
CABLE = "label strands used".split()
FINDING = ("check severity path paths step where message remedy value limit unit source").split()


def missing_keys(data: dict) -> list[tuple[str, str]]:
    """Every key that is not there, with where it should be."""
    found: list[tuple[str, str]] = []

    def look(record: dict, keys: list[str], where: str) -> None:
        found.extend((where, key) for key in keys if key not in record)

    look(data, TOP, "top")
    for name, keys in (
        ("methods", METHOD),
        ("sources", SOURCE),
        ("cables", CABLE),
        ("findings", FINDING),
    ):
        for record in data[name]:
            look(record, keys, name)
    for path in data["paths"]:
        look(path, PATH, "path")
        for segment in path["segments"]:
            look(segment, SEGMENT, "segment")
        for link in path["links"]:
            look(link, LINK + LINKS[link["kind"]], link["kind"])
            for way in link.get("directions", ()):
                look(way, DIRECTIONS[link["kind"]], f"{link['kind']} direction")
                for mode in way.get("modes", ()):
                    look(mode, MODE, "mode")
    return found
