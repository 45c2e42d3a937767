"""What a designer typed for the whole design and nothing in it asks for."""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from backhaul.checks.clearance import NAME_THE_WATER
from backhaul.checks.context import Context
from backhaul.design.columns import WATER
from backhaul.design.kinds import KINDS, LIGHT
from backhaul.findings import NOTE, Finding
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO
from backhaul.path.terrain import terrain_of
from backhaul.path.waters import FRESH, SEA


class Use(NamedTuple):
    """Settings that one kind of thing asks for: whether it is there, and how its lack is told."""

    settings: tuple[str, ...]
    is_there: Callable[[Context], bool]
    lack: str | Callable[[Context], str]


def _has(*kinds: str) -> Callable[[Context], bool]:
    return lambda context: any(context.network.links[kind] for kind in kinds)


def _has_glass(context: Context) -> bool:
    rows = context.design.segments
    return any(KINDS[row.kind].is_run and KINDS[row.kind].medium == LIGHT for row in rows)


#: What a record with a battery holds, or charges it with.
_BATTERY = ("battery_wh", "solar_w", "charge_w")


def _has_battery(context: Context) -> bool:
    records = [each.record for each in context.network.all_equipment.values()]
    return any(getattr(r, name, None) for r in records for name in _BATTERY)


def _surfaces(context: Context) -> set[str]:
    """What hops lie over, by their rows and their terrain."""
    found = set()
    for link in context.network.links[RADIO]:
        row = link.rows[0]
        terrain = terrain_of(link, row, context.design)
        found.update(terrain.surface if terrain is not None else ())
        found.add(row.surface)
    return {name for name in found if name}


def _has_nameless_water(context: Context) -> bool:
    """Whether a hop lies over water that has no row of its own in `waters`."""
    return bool(_surfaces(context) & {SEA, FRESH, WATER})


def _lack_of_water(context: Context) -> str:
    """Why no hop asks for the levels: none is marked as over water, or each water has its own."""
    if not context.network.links[RADIO]:
        return "no radio hop"
    if _surfaces(context) & set(context.design.waters):
        return "every water under a hop has a row of its own in waters"
    return (
        "no hop is marked as over water: reflection NOT judged; "
        f"where a hop crosses it, {NAME_THE_WATER}"
    )


USES = (
    Use(
        ("optical_margin_db", "overload_margin_db", "repair_allowance_db", "cage_rise_c"),
        _has(OPTICAL),
        "no optical link",
    ),
    Use(("loop_m",), _has_glass, "no fiber"),
    Use(
        ("radio_margin_db", "noise_rise_db", "worst_k_factor", "region"),
        _has(RADIO),
        "no radio hop",
    ),
    Use(
        ("rate_headroom_percent",),
        lambda context: bool(context.design.demand),
        "no demand",
    ),
    Use(("feed_drop_percent", "supply_reserve_percent"), _has(FEED), "no feed"),
    Use(("sun_rise_c",), _has(COPPER, FEED), "no copper"),
    Use(("autonomy_days",), _has_battery, "no battery"),
    Use(
        ("water_low_m", "water_high_m", "wave_height_m", "water"),
        _has_nameless_water,
        _lack_of_water,
    ),
)


def unused(context: Context) -> Iterator[Finding]:
    """Settings that nothing asks for, waters that lie under no hop: all in one note, `ignored`."""
    design = context.design
    project = design.project
    told, cells = [], []
    idle_settings = []
    for use in USES:
        typed = [name for name in use.settings if name in project.typed]
        if typed and not use.is_there(context):
            lack = use.lack(context) if callable(use.lack) else use.lack
            told.append(f"{', '.join(typed)} ({lack})")
            idle_settings += typed
    if idle_settings:
        cells.append(project.at(min(idle_settings, key=lambda name: project.rows[name])))
    surfaces = _surfaces(context) if design.waters else set()
    idle = [row for name, row in design.waters.items() if name not in surfaces]
    if idle:
        told.append(f"{', '.join(row.water for row in idle)} (under no hop)")
        cells.append(idle[0].at("water"))
    if told:
        yield Finding(
            "ignored",
            NOTE,
            f"set, but used by nothing: {'; '.join(told)}",
            where=cells[0],
            remedy="take it out, or correct the row that is to use it: the surface of a hop, say",
        )
