from backhaul.design.kinds.kind import FEED, Kind

FEED_RUN = Kind(
    name="feed",
    title="Two-conductor supply run from a supply to the device or radio after it",
    families=("feeds",),
    columns=("length_m", "site", "to_site", "cable_temperature_c", "route"),
    wanted=("length_m",),
    medium=FEED,
    is_run=True,
)
