"""Hypothesis strategies: any legal path, as rows of the tables that a designer writes.

Parts are those of tests/cases/catalog. A path begins and ends at a switch; between two pieces of
equipment stands an optical link, a copper drop or a hop. What a path is worth is left to chance:
margins may be large or gone, sites hot or cold, demands light or heavy.
"""

from typing import Any

from hypothesis import strategies as st

Row = dict[str, Any]
Tables = dict[str, list[Row]]

SWITCH = "t-switch-poe"
#: optics by the partner that they mate with, single-mode
PAIRS = (
    ("t-p", "t-p"),
    ("t-p-wide", "t-p-wide"),
    ("t-bx-d", "t-bx-u"),
    ("t-bx-u", "t-bx-d"),
    ("t-p-limit", "t-p-limit"),
    ("t-long", "t-long"),
    ("t-hot", "t-hot"),
)
FIBERS = ("t-sm", "t-sm-in", "t-sm-plain")
JOINTS = (
    ("connector", "t-lc"),
    ("connector", "t-lossy"),
    ("splice", "t-fusion"),
    ("attenuator", "t-att-5"),
)


@st.composite
def optical_links(draw, start: str, end: str) -> list[Row]:
    """Optic, runs and joints, optic; each run is parted from the next by a joint."""
    near, far = draw(st.sampled_from(PAIRS))
    runs = draw(st.integers(1, 3))
    rows: list[Row] = [{"kind": "optic", "part": near, "site": start}]
    for number in range(runs):
        if number or draw(st.booleans()):
            rows.append(draw(joints()))
        rows.append(
            draw(fibers())
            | {
                "site": start,
                "to_site": end if number == 0 else start,
            }
        )
        start = end
    if draw(st.booleans()):
        rows.append(draw(joints()))
    for row in rows[1:]:
        if row["kind"] == "fiber" and row["to_site"] != end:
            row["to_site"] = end
    return [*rows, {"kind": "optic", "part": far, "site": end}]


@st.composite
def fibers(draw) -> Row:
    row = {
        "kind": "fiber",
        "part": draw(st.sampled_from(FIBERS)),
        "length_m": draw(st.integers(1, 30_000)),
    }
    if draw(st.integers(0, 5)) == 0:
        row["extra_loss_db"] = draw(st.integers(0, 8)) / 4
    if draw(st.integers(0, 7)) == 0:
        row["measured_db"] = draw(st.integers(0, 40)) / 4
    return row


@st.composite
def joints(draw) -> Row:
    kind, part = draw(st.sampled_from(JOINTS))
    return {"kind": kind, "part": part, "count": draw(st.integers(1, 4))}


@st.composite
def copper_links(draw, start: str, end: str) -> list[Row]:
    """A drop, perhaps between protectors."""
    run = {
        "kind": "copper",
        "part": draw(st.sampled_from(("t-cat5e", "t-cat6a-s"))),
        "length_m": draw(st.integers(1, 120)),
        "site": start,
        "to_site": end,
    }
    if draw(st.booleans()):
        run["cable_temperature_c"] = draw(st.integers(0, 70))
    if not draw(st.booleans()):
        return [run]
    guard = {"kind": "protector", "part": "t-guard-copper"}
    return [guard | {"site": start}, run, guard | {"site": end}]


@st.composite
def hops(draw, start: str, end: str) -> list[Row]:
    """A hop between two drops; a terminal has one port for copper."""
    hop = {
        "kind": "radio",
        "part": "t-radio",
        "site": start,
        "to_site": end,
        "frequency_ghz": draw(st.sampled_from((5.3, 5.5, 5.7))),
        "channel_mhz": 40,
        "height_m": draw(st.integers(2, 60)),
        "to_height_m": draw(st.integers(2, 60)),
    }
    if draw(st.booleans()):
        hop["extra_loss_db"] = draw(st.integers(0, 50))
    return [hop]


@st.composite
def paths(draw, name: str = "P", only: tuple[str, ...] = ("light", "copper", "air")) -> Tables:
    """A whole design of one path, with its sites."""
    media = draw(st.lists(st.sampled_from(only), min_size=1, max_size=3))
    rows: list[Row] = [{"kind": "device", "part": SWITCH, "site": "S0"}]
    place = 0
    for medium in media:
        here, there = f"S{place}", f"S{place + 1}"
        if medium == "light":
            rows += draw(optical_links(here, there))
        elif medium == "copper":
            rows += draw(copper_links(here, there))
        else:
            rows += draw(copper_links(here, here))
            rows += draw(hops(here, there))
            rows += draw(copper_links(there, there))
        place += 1
        rows.append({"kind": "device", "part": SWITCH, "site": there})
    tables: Tables = {
        "segments": numbered(rows, name),
        "sites": [draw(sites(number)) for number in range(place + 1)],
    }
    if draw(st.booleans()):
        tables["demand"] = [
            {
                "path": name,
                "up_mbps": draw(st.integers(0, 1200)),
                "down_mbps": draw(st.integers(0, 1200)),
            }
        ]
    return tables


@st.composite
def sites(draw, number: int) -> Row:
    """A site some kilometres from the one before; climate given, so that no map is asked."""
    return {
        "site": f"S{number}",
        "latitude": 45 + number * 0.02,
        "longitude": 5,
        "ground_m": draw(st.integers(0, 200)),
        "outdoor": draw(st.sampled_from(("yes", "no", ""))),
        "ambient_min_c": draw(st.sampled_from((-45, -10, 5, ""))),
        "ambient_max_c": draw(st.sampled_from((20, 45, 60, ""))),
        "corrosivity": draw(st.sampled_from(("C2", "C5", "CX", ""))),
        "rain_rate_mm_h": 30,
        "dn1": -250,
        "vapour_g_m3": 9,
        "temperature_c": 11,
        "pressure_hpa": 1000,
    }


def numbered(rows: list[Row], path: str) -> list[Row]:
    """Rows with their path and steps."""
    return [{"path": path, "step": step, **row} for step, row in enumerate(rows, start=1)]


_ENDS = (("site", "to_site"), ("height_m", "to_height_m"), ("port", "to_port"))


def is_reversed(rows: list[Row], path: str) -> list[Row]:
    """The same path from its other end."""
    swapped = []
    for row in reversed(rows):
        row = {key: value for key, value in row.items() if key not in ("path", "step")}
        if row["kind"] in ("fiber", "copper", "feed", "radio"):
            for near, far in _ENDS:
                values = row.pop(near, None), row.pop(far, None)
                row |= {
                    key: value
                    for key, value in ((far, values[0]), (near, values[1]))
                    if value is not None
                }
        swapped.append(row)
    return numbered(swapped, path)
