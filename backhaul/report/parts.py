"""What the catalogues hold, as a readable table or as JSON."""

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from backhaul.catalog import FAMILIES, Catalog, load_catalog
from backhaul.design.kinds import KINDS
from backhaul.errors import InputError, Problem
from backhaul.report.part_rows import files_of_part, unsure_rows, write_files
from backhaul.report.stream import say
from backhaul.tables.names import nearest, squash

#: Columns that are long or say the same in every row: shown by --json only.
_HIDDEN = ("source", "basis", "note")
_WIDEST = 26
#: What a designer picks a part by, by family: these stand first, the description last.
_FIRST = {
    "devices": ("part", "ports", "poe_budget_w", "supply", "supply_volts", "watts", "ip_code"),
    "radios": ("part", "antenna_dbi", "ports", "tx_power_dbm", "duplex", "supply", "watts"),
    "optics": ("part", "rate_mbps", "form", "fiber_mode", "strands", "tx_nominal_nm"),
}
_LAST = "description"
_HINT = """
backhaul parts FAMILY lists one; --with TEXT keeps rows that hold the text
backhaul parts PART --as-csv prints a part as rows to start your own from
backhaul parts --unsure lists what is from memory and to be confirmed"""


def show_parts(
    name: str | None,
    folders: Sequence[Path],
    contains: str | None,
    *,
    as_json: bool,
    as_csv: bool,
    unsure: bool,
    output: Path | None,
) -> None:
    """What `backhaul parts` prints: rows to start from, what is not sure, or a list."""
    catalog = load_catalog(folders)
    if as_csv:
        files = files_of_part(catalog, name or "")
        if output is None:
            for file, text in files.items():
                say(f"# {file}\n{text}")
        else:
            write_files(output, files)
            say(f"{', '.join(files)} written: change {output}, pass --catalog {output}", err=True)
    elif unsure:
        print_unsure(catalog, name, contains=contains, as_json=as_json)
    else:
        ours = load_catalog() if folders else None
        print_parts(catalog, name, contains=contains, as_json=as_json, ours=ours)


def print_parts(
    catalog: Catalog,
    kind: str | None,
    *,
    contains: str | None = None,
    as_json: bool = False,
    ours: Catalog | None = None,
) -> None:
    """Print the parts of a family (or of the family of a kind); without one, count them all.

    ours: the catalogue without a user's parts; given, tells what these change.
    """
    if kind is None:
        counts = {family.name: len(catalog.rows(family.name)) for family in FAMILIES}
        if as_json:
            say(json.dumps(counts, indent=1))
            return
        for name, count in counts.items():
            say(f"{name:<14} {count:>5} rows")
        say(_HINT)
        if ours is not None:
            from backhaul.report.own_parts import own_parts_lines

            say("\nown parts:")
            for line in own_parts_lines(catalog, ours):
                say(f"  {line}")
        return
    family = _family(kind)
    rows = [
        {name.rstrip("_"): value for name, value in row.record._asdict().items()}
        for row in catalog.rows(family)
    ]
    if family == "joints" and squash(kind) in ("connector", "splice", "attenuator"):
        rows = [row for row in rows if row["kind"] == squash(kind)]
    rows = _with_words(rows, contains)
    if as_json:
        say(json.dumps(rows, indent=1))
        return
    if family in ("devices", "radios"):
        for row in rows:
            row["ports"] = _ports(catalog, row["part"])
    _print_table(rows, _FIRST.get(family, ("part",)))
    say(f"{len(rows)} rows of {family}")


def _with_words(rows: list[dict[str, Any]], contains: str | None) -> list[dict[str, Any]]:
    """Rows that hold every word of a text."""
    words = (contains or "").lower().split()
    return [row for row in rows if _holds(row, words)] if words else rows


def print_unsure(
    catalog: Catalog, kind: str | None, *, contains: str | None = None, as_json: bool = False
) -> None:
    """Print the rows that are from memory, of all families or of one."""
    rows = list(unsure_rows(catalog, None if kind is None else _family(kind)))
    rows = _with_words(rows, contains)
    if as_json:
        say(json.dumps(rows, indent=1))
        return
    family = None
    for row in rows:
        if row["family"] != family:
            family = row["family"]
            say(f"{family}:")
        say(f"  {row['part']}: {row['source']}")
    total = sum(len(catalog.rows(each.name)) for each in FAMILIES)
    say(f"{len(rows)} of {total} rows are from memory: confirm them before they decide")


def _holds(row: dict[str, Any], words: list[str]) -> bool:
    """Whether a row holds all the words, in any order.

    >>> _holds({"part": "switch-8-1g", "ip_code": "IP67"}, ["ip67", "switch"])
    True
    """
    text = " ".join(map(str, row.values())).lower()
    return all(word in text for word in words)


def _ports(catalog: Catalog, part: str) -> str:
    """Ports of a part by form, with the PoE that they give or take: "4 rj45 source, 2 sfp"."""
    counts: dict[str, int] = {}
    for port in catalog.ports.get(part, ()):
        poe = f" {port.poe}" if port.poe in ("source", "load") else ""
        name = f"{port.form}{poe}"
        counts[name] = counts.get(name, 0) + 1
    return ", ".join(f"{count} {name}" for name, count in counts.items())


def _family(name: str) -> str:
    names = {squash(family.name): family.name for family in FAMILIES}
    names.update({squash(kind.name): kind.families[0] for kind in KINDS.values()})
    found = names.get(squash(name)) or names.get(squash(f"{name}s"))
    if found is None:
        close = ", ".join(nearest(name, list(names))) or ", ".join(names)
        raise InputError(
            [Problem("parts", f"'{name}'", "a family of the catalogues", f"nearest: {close}")]
        )
    return found


def _print_table(rows: list[dict[str, Any]], first: tuple[str, ...]) -> None:
    """Columns that are filled anywhere, as many as fit the width; a part's name is never cut."""
    if not rows:
        return
    filled = [
        name
        for name in rows[0]
        if name not in _HIDDEN and any(row[name] not in (None, (), {}, "") for row in rows)
    ]
    names = [name for name in first if name in filled]
    if _LAST in filled:
        names.append(_LAST)
    names += [name for name in filled if name not in names]
    cells = [[_text(row[name]) for name in names] for row in rows]
    widths = [
        max(len(name), *(len(line[i]) for line in cells))
        if name == "part"
        else min(max(len(name), *(len(line[i]) for line in cells)), _WIDEST)
        for i, name in enumerate(names)
    ]
    width, shown = shutil.get_terminal_size((100, 24)).columns, 0
    while shown < len(names) and sum(widths[: shown + 1]) + 2 * shown <= width:
        shown += 1
    for line in [names, *cells]:
        say(
            "  ".join(
                text[:size].ljust(size)
                for text, size in zip(line[:shown], widths[:shown], strict=True)
            ).rstrip()
        )
    if shown < len(names):
        say(f"not shown for width: {', '.join(names[shown:])} (--json has all)")


def _text(value: Any) -> str:
    if value is None or value in ((), {}):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return ";".join(_text(item) for item in value)
    if isinstance(value, dict):
        return " ".join(f"{key}:{_text(item)}" for key, item in value.items())
    return str(value)
