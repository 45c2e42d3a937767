from backhaul.design.kinds.kind import AIR, Kind

RADIO = Kind(
    name="radio",
    title="Hop with a terminal at both ends; without to_site the terminal alone, in a power path",
    families=("radios",),
    columns=(
        "to_part",
        "site",
        "to_site",
        "port",
        "to_port",
        "length_m",
        "height_m",
        "to_height_m",
        "antenna",
        "to_antenna",
        "frequency_ghz",
        "to_frequency_ghz",
        "channel_mhz",
        "tx_power_dbm",
        "polarization",
        "eirp_limit_dbm",
        "up_share_percent",
        "extra_loss_db",
    ),
    medium=AIR,
    has_ports=True,
)
