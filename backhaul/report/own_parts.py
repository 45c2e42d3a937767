"""Own parts beside ours: which class each replaces, what is better or worse in it."""

from collections.abc import Iterator
from typing import Any

from backhaul.catalog import FAMILIES, Catalog
from backhaul.catalog.families import Family
from backhaul.catalog.reading import Row
from backhaul.tables.names import nearest

MORE, LESS = 1, -1
#: What a designer is glad of, by column; the others only differ (common practice).
GLAD_OF = {
    **dict.fromkeys(
        (
            "antenna_dbi", "aperture_efficiency", "ampacity_a", "battery_use_percent",
            "battery_wh", "chains", "channel_loss_max_db", "damage_dbm", "efficiency", "gain_dbi",
            "launch_min_dbm", "mac_efficiency", "max_dispersion_ps_nm", "max_input_dbm",
            "output_w", "overload_dbm", "poe_budget_w", "power_factor", "rate_mbps", "rating_a",
            "reach_m", "solar_w", "strands", "supply_max_volts", "temp_max_c", "tx_power_dbm",
        ),
        MORE,
    ),
    **dict.fromkeys(
        (
            "latency_us", "launch_max_dbm", "max_db", "min_volts", "noise_figure_db", "ohm",
            "ohm_per_km", "penalty_db", "price", "reactance_ohm_per_km", "sensitivity_dbm",
            "sigma_db", "supply_min_volts", "temp_min_c", "typical_db", "watts",
        ),
        LESS,
    ),
}  # fmt: skip
#: Of a port or a load alike no more power is the better: it hangs on which of the two it is.
_NEITHER = {"ports": {"watts", "min_volts"}, "optics": {"strands"}}
_BLANK = "left blank"
_LEFT_OUT = {"part", "description", "note", "source", "basis"}


def own_parts_lines(catalog: Catalog, ours: Catalog) -> list[str]:
    """A line a part of a user's files: what it replaces, or of ours which is nearest."""
    lines = []
    for family in FAMILIES:
        known = ours.stock(family.name)
        stock = catalog.stock(family.name)
        for part in stock:
            rows = stock.own(part)
            if rows is None:
                continue
            if part in known:
                lines.append(
                    f"{family.file} {part} replaces ours: {_told(family, rows, known[part])}"
                )
            elif family.single:
                close = ", ".join(nearest(part, list(known)))
                lines.append(f"{family.file} {part} is new" + (f"; nearest: {close}" * bool(close)))
    return lines


def _told(family: Family, rows: list[Row], before: list[Row]) -> str:
    by_key = {_key(family, row.record): row.record for row in before}
    words: dict[str, list[str]] = {"better": [], "worse": [], "also": [], _BLANK: []}
    gone = set(by_key)
    for row in rows:
        key = _key(family, row.record)
        gone.discard(key)
        at = f" ({' '.join(key)})" if key else ""
        if key not in by_key:
            words["also"].append(f"new{at}")
            continue
        for column, kind, change in _changes(family, row.record, by_key[key]):
            words[kind].append(f"{column}{at}" if kind == _BLANK else f"{column} {change}{at}")
    words["also"] += [f"no longer ({' '.join(key)})" for key in sorted(gone)]
    told = [f"{kind}: {', '.join(found)}" for kind, found in words.items() if found]
    return "; ".join(told) or "no figure differs"


def _key(family: Family, record: Any) -> tuple[str, ...]:
    return tuple(f"{getattr(record, name)}".removesuffix(".0") for name in family.key[1:])


def _changes(family: Family, new: Any, old: Any) -> Iterator[tuple[str, str, str]]:
    """Column, better, worse or neither, and the two figures."""
    for name in new._fields:
        after, before = getattr(new, name), getattr(old, name)
        if name in _LEFT_OUT or name in family.key or after == before:
            continue
        if isinstance(after, dict):
            yield from _spectral(name, after, before)
            continue
        yield name.rstrip("_"), _kind(family, name, after, before), _words(after, before)


def _spectral(name: str, after: dict, before: dict) -> Iterator[tuple[str, str, str]]:
    for nm in sorted(after.keys() | before.keys()):
        new, old = after.get(nm), before.get(nm)
        if new == old:
            continue
        kind = _BLANK if new is None else "also"
        if new is not None and old is not None:
            kind = "better" if new < old else "worse"
        yield f"{name}_{nm}", kind, _words(new, old)


def _kind(family: Family, name: str, after: Any, before: Any) -> str:
    way = GLAD_OF.get(name)
    if after in (None, ()):
        return _BLANK
    if way is None or name in _NEITHER.get(family.name, ()) or None in (after, before):
        return "also"
    return "better" if (after - before) * way > 0 else "worse"


def _words(after: Any, before: Any) -> str:
    return f"{_text(before)} to {_text(after)}"


def _text(value: Any) -> str:
    if value is None or value == ():
        return "blank"
    if isinstance(value, tuple):
        return "/".join(map(_text, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
