"""The evaluation as a pandas table: one row a link and direction."""

from typing import TYPE_CHECKING, Any

from backhaul.checks.results import Results
from backhaul.report.record import record

if TYPE_CHECKING:
    import pandas

#: Columns of every row, then those of each kind of link; a figure that a kind lacks is NaN.
_LINK = ("kind", "first_step", "last_step", "verdict", "length_m", "distance_km")
_DIRECTION = (
    "wavelength_nm",
    "loss_max_db",
    "margin_db",
    "margin_basis",
    "overload_margin_db",
    "statistical_margin_db",
    "eirp_dbm",
    "received_dbm",
    "mode_at_target",
    "rate_at_target_mbps",
)
_WIRED = ("rate_mbps", "source_w", "load_w", "load_v", "current_a", "drop_percent")


def frame(evaluation: Results) -> "pandas.DataFrame":
    """One row a link and direction of every path; wired links have one row."""
    import pandas

    rows: list[dict[str, Any]] = []
    for path in record(evaluation)["paths"]:
        for link in path["links"]:
            base = {"path": path["path"], **{key: link.get(key) for key in (*_LINK, *_WIRED)}}
            for way, direction in enumerate(link.get("directions", ({},))):
                row = {**base, "direction": ("down", "up")[way] if direction else None}
                row.update({key: direction.get(key) for key in _DIRECTION})
                if link["kind"] == "radio":
                    in_use = [
                        mode
                        for mode in direction["modes"]
                        if mode["mode"] == direction["mode_at_target"]
                    ]
                    for key in ("margin_db", "availability_percent"):
                        row[key] = in_use[0][key] if in_use else None
                    row["clearance_ratio"] = link["clearance_ratio"]
                    row["reflection_loss_db"] = link["reflection_loss_db"]
                rows.append(row)
    return pandas.DataFrame(rows)
