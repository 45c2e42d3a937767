"""What changed between two revisions, as text and as plain data."""

from collections.abc import Iterator
from typing import Any

from backhaul.findings import CAUTION, FAIL, THIN
from backhaul.report.lines import Line, in_units_of, wrapped
from backhaul.report.record import finding_record
from backhaul.revisions.change import Change
from backhaul.revisions.comparison import Comparison
from backhaul.revisions.findings import FindingChange
from backhaul.revisions.words import (
    change_text,
    finding_text,
    moved_text,
    order_text,
    verdict_text,
)

FORMAT = 1
#: Lines of one kind that are told before the rest is only counted.
_MANY = 40
_HANGING = " " * 6
_COUNTED = (FAIL, THIN, CAUTION)


def comparison_lines(
    compared: Comparison, *, width: int = 100, everything: bool = False
) -> Iterator[Line]:
    """The report line by line; `everything` tells every note and every line of a long list."""
    lines = _lines(compared, width, everything=everything)
    return in_units_of(compared.new.design, lines)


def _lines(compared: Comparison, width: int, *, everything: bool) -> Iterator[Line]:
    old, new = compared.old, compared.new
    title = new.design.project.title or new.design.name or "design"
    yield f"{title}: {verdict_text(old.verdict)} -> {verdict_text(new.verdict)}", new.verdict
    yield from wrapped(f"{_name(old)} -> {_name(new)}", width, "")
    if compared.is_empty:
        yield "nothing differs", ""
        return
    yield ("something got worse" if compared.is_worse else "nothing got worse"), ""
    for heading, lines in _sections(compared, everything):
        if not lines:
            continue
        yield "", ""
        yield heading, ""
        told = lines if everything else lines[:_MANY]
        for text, severity in told:
            for line, _ in wrapped(text, width, "  ", rest=_HANGING):
                yield line, severity
        if len(lines) > len(told):
            yield f"  … and {len(lines) - len(told)} more (--all lists them)", ""


def _sections(compared: Comparison, everything: bool) -> Iterator[tuple[str, list[Line]]]:
    yield "Rows", [(change_text(change), "") for change in compared.changes]
    yield (
        "Verdicts",
        [
            (f"{path}: {verdict_text(was)} -> {verdict_text(now)}", now or "")
            for path, was, now in compared.verdicts
        ],
    )
    told = [f for f in compared.findings if everything or f.finding.severity in _COUNTED]
    lines = [(finding_text(change), _colour(change)) for change in told]
    if len(told) < len(compared.findings):
        lines.append((f"… and {len(compared.findings) - len(told)} notes (--all lists them)", ""))
    yield "Findings", lines
    yield (
        "Margins, rates and voltages that moved",
        [(moved_text(moved), "thin" if moved.is_worse else "") for moved in compared.figures],
    )
    yield "Order", [(text, "") for text in _order_texts(compared)]
    yield (
        "Site cards",
        [
            (f"{card.site or 'no site given'}: {card.what}{_reasons(card.reasons, everything)}", "")
            for card in compared.cards
        ],
    )


def _reasons(reasons: tuple[str, ...], everything: bool) -> str:
    told = reasons if everything else reasons[:3]
    more = f" and {len(reasons) - len(told)} more" if len(reasons) > len(told) else ""
    return f" ({'; '.join(told)}{more})" if told else ""


def _name(results: Any) -> str:
    project = results.design.project
    revision = f" revision {project.revision}" if project.revision else ""
    return f"{results.design.name or 'design'}{revision} ({results.design.digest})"


def _colour(change: FindingChange) -> str:
    severity = change.finding.severity
    return severity if change.is_worse and severity in (FAIL, THIN) else ""


def _order_texts(compared: Comparison) -> Iterator[str]:
    order = compared.order
    currency = compared.new.design.project.currency or ""
    for line in order.lines:
        yield order_text(line, currency)
    if order.lines:
        if order.cost is not None:
            rest = f", {order.unpriced} lines without a price" if order.unpriced else ""
            yield f"in all {order.cost:+,.2f} {currency}{rest}".replace(" ,", ",").strip()
        else:
            yield "no prices in the catalogues: what it costs is for the buyer"
    if order.newly:
        yield f"ordered for the first time: {', '.join(order.newly)}"
    if order.no_longer:
        yield f"no longer ordered: {', '.join(order.no_longer)}"


def comparison_record(compared: Comparison) -> dict[str, Any]:
    """The comparison for JSON."""
    order = compared.order
    return {
        "format": FORMAT,
        "old": _side(compared.old),
        "new": _side(compared.new),
        "same": compared.is_empty,
        "worse": compared.is_worse,
        "renamed_paths": {a: b for a, b in compared.paths.items() if a != b},
        "renamed_sites": {a: b for a, b in compared.sites.items() if a != b},
        "changes": [_change_record(change) for change in compared.changes],
        "verdicts": [
            {"path": path, "from": was, "to": now} for path, was, now in compared.verdicts
        ],
        "findings": [
            {
                "what": change.what,
                "worse": change.is_worse,
                "from": finding_record(change.before, compared.old) if change.before else None,
                "to": finding_record(change.after, compared.new) if change.after else None,
            }
            for change in compared.findings
        ],
        "figures": [
            {
                "path": moved.path,
                "place": moved.place,
                "figure": moved.label,
                "unit": moved.unit,
                "from": moved.before,
                "to": moved.after,
                "worse": moved.is_worse,
            }
            for moved in compared.figures
        ],
        "order": {
            "lines": [
                {
                    **{k: v for k, v in line._asdict().items() if k not in ("before", "after")},
                    "from": line.before,
                    "to": line.after,
                    "more": line.more,
                    "cost": line.cost,
                }
                for line in order.lines
            ],
            "newly_ordered": list(order.newly),
            "no_longer_ordered": list(order.no_longer),
            "cost": order.cost,
            "lines_without_price": order.unpriced,
            "currency": compared.new.design.project.currency,
        },
        "cards": [
            {"site": card.site or None, "what": card.what, "reasons": list(card.reasons)}
            for card in compared.cards
        ],
    }


def _side(results: Any) -> dict[str, Any]:
    project = results.design.project
    return {
        "name": results.design.name,
        "revision": project.revision,
        "date": project.date,
        "digest": results.design.digest,
        "verdict": results.verdict,
        "paths": dict(results.path_verdicts),
    }


def _change_record(change: Change) -> dict[str, Any]:
    record = change._asdict()
    record["from"], record["to"] = record.pop("before"), record.pop("after")
    record["cell_from"] = record.pop("where_before") or None
    record["cell_to"] = record.pop("where_after") or None
    record["text"] = record["text"] or None
    record["path"] = record["path"] or None
    record["column"] = record["column"] or None
    return record
