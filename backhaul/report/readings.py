"""What came back from the sites, as text, as plain data and as a `readings` table."""

import csv
import io
from collections.abc import Iterator
from typing import Any

from backhaul.as_built.acceptance import Acceptance, record_of
from backhaul.as_built.judged import GOOD, NOTED, OFF, OPEN, Judged
from backhaul.as_built.table import table_heads, table_rows
from backhaul.report.lines import Line, in_units_of, wrapped
from backhaul.report.order_csv import safe_text

FORMAT = 1
_MANY = 40
_HANGING = " " * 6
_STATUS_COLOUR = {OFF: "fail", OPEN: "thin", GOOD: "pass"}


def readings_lines(
    acceptance: Acceptance, *, width: int = 100, everything: bool = False
) -> Iterator[Line]:
    """The report line by line: what is off with its hint, what cannot be used, what is open."""
    lines = _lines(acceptance, width, everything=everything)
    return in_units_of(acceptance.results.design, lines)


def _lines(acceptance: Acceptance, width: int, *, everything: bool) -> Iterator[Line]:
    design = acceptance.results.design
    title = design.project.title or design.name or "design"
    counts = acceptance.counts
    words = ", ".join(
        f"{counts[status]} {status}" for status in (GOOD, NOTED, OFF, OPEN) if counts[status]
    )
    yield f"{title}: {words or 'no readings'}", _STATUS_COLOUR[OFF] if counts[OFF] else ""
    for note in acceptance.notes:
        yield from wrapped(note, width, "  - ")
    yield from _listed(
        "Off", [_off(each) for each in acceptance.of(OFF)], width, everything, "fail"
    )
    lines = [f"{each.where}: {each.key}: {each.why}" for each in acceptance.not_used]
    yield from _listed("Not used", lines, width, everything, "fail")
    yield from _listed("Open", list(_open(acceptance, everything)), width, everything, "thin")
    hints = [f"{_place(each)}: {each.hint}" for each in acceptance.of(GOOD) if each.hint]
    yield from _listed("Good, with a doubt", hints, width, everything, "thin")
    if everything:
        good = [_good(each) for each in acceptance.judged if each.status in (GOOD, NOTED)]
        yield from _listed("Good", good, width, everything, "")


def _listed(
    heading: str, lines: list[str], width: int, everything: bool, colour: str
) -> Iterator[Line]:
    if not lines:
        return
    yield "", ""
    yield heading, ""
    told = lines if everything else lines[:_MANY]
    for text in told:
        for line, _ in wrapped(text, width, "  ", rest=_HANGING):
            yield line, colour
    if len(lines) > len(told):
        yield f"  … and {len(lines) - len(told)} more (--all lists them)", ""


def _off(judged: Judged) -> str:
    hint = f" → {judged.hint}" if judged.hint else ""
    return f"{_place(judged)}: {_figures(judged)}; {judged.why}{hint}"


def _good(judged: Judged) -> str:
    return f"{_place(judged)}: {_figures(judged)}"


def _open(acceptance: Acceptance, everything: bool) -> Iterator[str]:
    """What nobody has taken is counted by site; what was taken and is still open is told."""
    missing: dict[str, list[str]] = {}
    for each in acceptance.of(OPEN):
        if each.taken is None and each.why == "not taken":
            missing.setdefault(each.reading.site or "no site given", []).append(each.reading.key)
        else:
            yield f"{_place(each)}: {_figures(each)}; {each.why}" if each.taken else (
                f"{_place(each)}: {each.why}"
            )  # fmt: skip
    for site, keys in missing.items():
        told = keys if everything else keys[:3]
        more = f" and {len(keys) - len(told)} more" if len(keys) > len(told) else ""
        yield f"{site}: {len(keys)} not taken: {', '.join(told)}{more}"


def _place(judged: Judged) -> str:
    site = f" at {judged.reading.site}" if judged.reading.site else ""
    return f"{judged.reading.key}{site}"


def _figures(judged: Judged) -> str:
    value, unit = judged.value, judged.reading.unit
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) or value is None:
        return str(value or "")
    text = f"{value:g} {unit}".rstrip()
    expected = judged.limits.expected
    if expected == expected:
        digits = max((bound.digits for bound in judged.reading.bounds.values()), default=2)
        text += f", expected {expected:.{digits}f} {unit}".rstrip()
    if judged.taken is not None and judged.taken.water_level_m is not None:
        text += f" at water {judged.taken.water_level_m:g} m"
    return text


def readings_record(acceptance: Acceptance) -> dict[str, Any]:
    """The readings for JSON."""
    design = acceptance.results.design
    return {
        "format": FORMAT,
        "digest": design.digest,
        "revision": design.project.revision,
        "counts": {status: acceptance.counts[status] for status in (GOOD, NOTED, OFF, OPEN)},
        "notes": list(acceptance.notes),
        "not_used": [each._asdict() for each in acceptance.not_used],
        "readings": [record_of(each) for each in acceptance.judged],
    }


def readings_csv(acceptance: Acceptance) -> str:
    """What was taken as a `readings` table, to lie beside the other tables of the design."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table_heads(acceptance))
    for cells in table_rows(acceptance):
        writer.writerow([safe_text(cell) if isinstance(cell, str) else cell for cell in cells])
    return out.getvalue()
