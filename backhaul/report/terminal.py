"""The evaluation as a designer reads it at a glance: paths, segments, findings, the worst first."""

import textwrap
from collections.abc import Iterator

from backhaul.budgets.performance import PathPerformance
from backhaul.checks.results import Results
from backhaul.findings import CAUTION, FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.links import FEED, OPTICAL, RADIO, LinkUse
from backhaul.units import PERCENT
from backhaul.wording import length_text, rate_text

Line = tuple[str, str]  # text, severity that colours it ("" for none)

MARKS = {FAIL: "FAIL", THIN: "thin", PASS: "pass", NOTE: "note", CAUTION: "caution"}
LARGE_DESIGN_PATHS = 6
#: Letters left for the figures of a row, however long the names of its parts.
_LEAST_ROOM = 36


def report(evaluation: Results, *, width: int = 100, everything: bool = False) -> Iterator[Line]:
    """The report line by line; `everything` lists every path and note of a large design."""
    design = evaluation.design
    title = design.project.title or design.name or "design"
    yield f"{title}: {MARKS[evaluation.verdict]}", evaluation.verdict
    paths = list(evaluation.network.chains)
    if len(paths) > LARGE_DESIGN_PATHS and not everything:
        yield from _many_paths(evaluation, paths, width)
    else:
        for path in paths:
            yield "", ""
            yield from _path(evaluation, path, width)
    yield "", ""
    yield from _findings(evaluation, width, everything)


def _many_paths(evaluation: Results, paths: list[str], width: int) -> Iterator[Line]:
    """One line a path, the worst first; what passes is only counted."""
    order = {FAIL: 0, THIN: 1, PASS: 2}
    verdicts = evaluation.path_verdicts
    ranked = sorted(paths, key=lambda path: order[verdicts[path]])
    shown = [path for path in ranked if verdicts[path] != PASS][:_MANY]
    for path in shown:
        yield _clip(_short_path_line(evaluation, path), width), verdicts[path]
    counts = {verdict: sum(1 for v in verdicts.values() if v == verdict) for verdict in order}
    yield (
        (
            f"{len(paths)} paths: {counts[FAIL]} fail, {counts[THIN]} thin, {counts[PASS]} pass "
            f"(--all lists them)"
        ),
        "",
    )


_MANY = 40


def _path(evaluation: Results, path: str, width: int) -> Iterator[Line]:
    verdict = evaluation.path_verdicts[path]
    for line, _ in _wrapped(_path_line(evaluation, path), width, "", rest="    "):
        yield line, verdict
    uses = {row: use for use in evaluation.network.uses[path] for row in use.row_ids}
    rows = evaluation.network.chains[path].rows
    names = [f"{row.kind} {row.part}" for row in rows]
    longest = min(max((len(name) for name in names), default=0), 44)
    told: set[int] = set()
    for row, name in zip(rows, names, strict=True):
        verdict = evaluation.row_verdicts.get(row.id, PASS)
        use = uses.get(row.id)
        words = []
        site, far = evaluation.network.places[row.id]
        if site:
            words.append(f"{site} → {far}" if far and far != site else site)
        if row.length_m:
            words.append(length_text(row.length_m))
        if row.count and row.count > 1:
            words.append(f"× {row.count}")
        if use is not None and id(use) not in told:
            told.add(id(use))
            words.append(_link_words(evaluation, use))
        step = f"{row.step:g}".rjust(5)
        head = f"{step}  {MARKS[verdict]:<4}  {name:<{longest}}  "
        text = head + ", ".join(word for word in words if word)
        rest = " " * min(len(head), max(width - _LEAST_ROOM, 13))
        for line, _ in _wrapped(text.rstrip(), width, "", rest=rest):
            yield line, verdict if verdict != PASS else ""


def _path_line(evaluation: Results, path: str) -> str:
    served = evaluation.performance.paths[path]
    row = evaluation.design.paths.get(path)
    words = [
        (
            f"{path}{f' ({row.title})' if row and row.title else ''}: "
            f"{MARKS[evaluation.path_verdicts[path]]}"
        )
    ]
    if served.carries_data:
        rates = [
            f"{rate_text(round(rate, 1))} {way}" if rate is not None else f"? {way}"
            for rate, way in ((served.rate_up_mbps, "up"), (served.rate_down_mbps, "down"))
        ]
        words.append(" / ".join(rates))
        if served.has_demand:
            words.append(
                f"demand {rate_text(round(served.demand_up_mbps, 1))} up / "
                f"{rate_text(round(served.demand_down_mbps, 1))} down"
            )
        if served.bottleneck_step is not None:
            words.append(f"lowest at step {served.bottleneck_step:g}")
        if _holds_less_than_always(served):
            words.append(f"{served.availability_percent:.3f} % of the year")
    else:
        words.append("power only")
    return ", ".join(words)


def _holds_less_than_always(served: PathPerformance) -> bool:
    """A path without a hop has no weather to tell of."""
    return served.availability_percent is not None and served.availability_percent < PERCENT


def _short_path_line(evaluation: Results, path: str) -> str:
    """The same for one of many paths, so short that its figures stand on one line."""
    served = evaluation.performance.paths[path]
    words = [f"{path}: {MARKS[evaluation.path_verdicts[path]]}"]
    if not served.carries_data:
        words.append("power only")
    else:
        rates = " / ".join(
            "?" if rate is None else f"{round(rate, 1):g}"
            for rate in (served.rate_up_mbps, served.rate_down_mbps)
        )
        asked = f", asked {served.demand_up_mbps:g} / {served.demand_down_mbps:g}"
        words.append(f"{rates} Mb/s up / down{asked if served.has_demand else ''}")
        if served.bottleneck_step is not None:
            words.append(f"lowest at step {served.bottleneck_step:g}")
        if _holds_less_than_always(served):
            words.append(f"{served.availability_percent:.3f} %")
    row = evaluation.design.paths.get(path)
    if row and row.title:
        words.append(row.title)
    return ", ".join(words)


def _link_words(evaluation: Results, use: LinkUse) -> str:
    index = use.link.index
    if use.link.kind == OPTICAL:
        margin = evaluation.optical.values["margin_db"][2 * index : 2 * index + 2]
        if (margin == margin).all():
            return f"margin {margin[0]:.1f} / {margin[1]:.1f} dB"
        return "margin not known"
    if use.link.kind == RADIO:
        hops = evaluation.performance.hops
        distance = evaluation.radio.hops.distance_km[index]
        rates = hops.user_rate_mbps[2 * index : 2 * index + 2]
        modes = evaluation.radio.modes["margin_db"]
        best = [
            modes[evaluation.radio.mode_start[d] : evaluation.radio.mode_start[d + 1]].max(
                initial=float("-inf")
            )
            for d in (2 * index, 2 * index + 1)
        ]
        words = f"{distance:.2f} km" if distance == distance else "distance not known"
        if all(margin > float("-inf") for margin in best):
            words += f", margin {min(best):.1f} dB"
        if (rates == rates).all():
            words += f", {rates[0]:.0f} / {rates[1]:.0f} Mb/s"
        return words
    if use.link.kind == FEED:
        line = evaluation.power.by_link[use.link.key]
        volts, watts = line.values["load_v"], line.values["load_w"]
        if volts != volts:
            return "no voltage at the load"
        return f"{watts:.1f} W at {volts:.1f} V, drop {line.values['drop_percent']:.1f} %"
    rate = evaluation.copper.rate_mbps[index]
    words = rate_text(rate) if rate == rate else "no rate"
    fed = evaluation.power.by_link.get(use.link.key)
    if fed is not None and fed.values["load_v"] == fed.values["load_v"]:
        words += f", {fed.values['load_w']:.1f} W at {fed.values['load_v']:.1f} V"
    return words


def _findings(evaluation: Results, width: int, everything: bool) -> Iterator[Line]:
    settle = [f for f in evaluation.findings if f.severity in (FAIL, THIN)]
    notes = [f for f in evaluation.findings if f.severity == NOTE]
    cautions = [f for f in evaluation.findings if f.severity == CAUTION]
    yield ("To settle" if settle else "Nothing to settle."), ""
    alike: dict[tuple, list[Finding]] = {}
    for finding in settle:
        key = (finding.severity, finding.check, finding.message, finding.remedy)
        alike.setdefault(key, []).append(finding)
    groups = list(alike.values())
    shown = groups if everything else groups[:_MANY]
    for group in shown:
        yield from _finding(group, width, everything)
    if len(groups) > len(shown):
        rest = sum(map(len, groups[len(shown) :]))
        yield f"  … and {rest} more (--all lists them)", ""
    for name, group in (("Notes", notes), ("Cautions", cautions)):
        if not group:
            continue
        yield "", ""
        yield name, ""
        told = group if everything else group[:_FEW]
        for finding in told:
            place = " ".join(word for word in (finding.path, finding.where) if word)
            yield from _wrapped(f"{place + ': ' if place else ''}{finding.message}", width, "  - ")
        if len(group) > len(told):
            yield f"  … and {len(group) - len(told)} more (--all lists them)", ""


_FEW = 12


def _finding(alike: list[Finding], width: int, everything: bool) -> Iterator[Line]:
    """One finding, with the other places of which the same is said."""
    finding, others = alike[0], alike[1:]
    yield f"  {MARKS[finding.severity]:<4} {finding.check}  {_cell(finding)}", finding.severity
    if others:
        shown = others if everything else others[:_FEW]
        places = "; ".join(filter(None, map(_cell if len(others) <= _WITH_CELL else _place, shown)))
        more = f" … and {len(others) - len(shown)} more" if len(others) > len(shown) else ""
        yield from _wrapped(f"and at {places}{more}", width, "       ")
    yield from _wrapped(finding.message, width, "       ")
    if finding.remedy:
        yield from _wrapped(f"→ {finding.remedy}", width, "       ")


#: So many more places of one finding are told with their cells, more by path and step.
_WITH_CELL = 3


def _cell(finding: Finding) -> str:
    return ", ".join(word for word in (_place(finding), finding.where) if word)


def _place(finding: Finding) -> str | None:
    if finding.step is None:
        return finding.path
    return f"{finding.path} step {finding.step:g}"


def _wrapped(text: str, width: int, indent: str, *, rest: str | None = None) -> Iterator[Line]:
    rest = " " * len(indent) if rest is None else rest
    for line in textwrap.wrap(text, max(width, 40), initial_indent=indent, subsequent_indent=rest):
        yield line, ""


def _clip(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"
