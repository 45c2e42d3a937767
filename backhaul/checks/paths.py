"""The whole path: does the rate carry the demand, does the year hold."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hop_rates import TDD
from backhaul.budgets.performance import PathPerformance, along, narrow_row
from backhaul.budgets.year_margin import short_of_target
from backhaul.checks.context import Context, plain_value
from backhaul.figures.path_figures import (
    AVAILABILITY,
    RATE_JUDGED,
    UP,
    WAYS,
    free_rate_mbps,
)
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.links import FEED, RADIO, LinkUse
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import (
    availability_text,
    rate_digits,
    rate_figure,
    rate_text,
    shares_against,
)

#: Branches that a message names with what they add.
MOST_BRANCHES = 3
#: Two antennas of twice the diameter twice over gain so much [dB]: 20 log10 of the diameter.
MOST_ANTENNA_GAIN_DB = 24.0

#: A rate that is asked for is rounded up to these steps [Mb/s], to the larger from a gigabit on.
_STEP_MBPS, _GIGABIT_STEP_MBPS = 0.1, 10.0
_GIGABIT_MBPS = 1000.0


class Strain(NamedTuple):
    """A link and direction of a path in which the load is the largest part of the rate."""

    share: float
    load_mbps: float
    rate_mbps: float
    way: str
    use: LinkUse


def path_rate(context: Context) -> Iterator[Finding]:
    """path-rate: what a link must carry against its rate with headroom; the narrowest is named."""
    strained: list[tuple[str, Strain]] = []
    for path, served in context.performance.paths.items():
        if served.is_stopped and path in context.stops:
            yield from _stopped(context, path)
        if not served.carries_data or not served.has_demand:
            continue
        # a rate that is known elsewhere is too low whatever stops the path
        narrow = narrowest(context, path, running=served.is_stopped)
        strained += [(path, narrow)] * (narrow is not None)
    words = RATE_JUDGED.words(
        {
            "load_mbps": [narrow.load_mbps for _, narrow in strained],
            "rate_mbps": [narrow.rate_mbps for _, narrow in strained],
            "headroom_percent": context.design.project.rate_headroom_percent,
        }
    )
    found: dict[tuple, Finding] = {}
    for (path, narrow), severity in zip(strained, words.tolist(), strict=True):
        if severity == PASS:
            continue
        key = (narrow.use.link.key, (narrow.way == UP) == narrow.use.is_reversed)
        if key in found:
            found[key] = found[key]._replace(paths=(*found[key].paths, path))
            continue
        found[key] = _short(context, path, context.performance.paths[path], narrow, severity)
    yield from found.values()


def _short(
    context: Context, path: str, served: PathPerformance, narrow: Strain, severity: str
) -> Finding:
    use = narrow.use
    headroom = context.design.project.rate_headroom_percent
    row = narrow_row(use, context.network)
    load = context.performance.traffic.on(use.link).along(use)
    rates = along(context.performance.rates[use.link.key], use)
    shares = _hub_shares(context, use)
    rate = tuple(r / s if s > 0 else r for r, s in zip(rates, shares, strict=True))
    share = 1 - headroom / PERCENT
    needed = round(narrow.load_mbps, DECIMALS)
    free = float(free_rate_mbps(rate_mbps=narrow.rate_mbps, headroom_percent=headroom))
    digits = rate_digits(needed, narrow.rate_mbps if severity == FAIL else free)
    message = (
        f"{_both(load, digits)} run over step {row.step:g}, which carries {_both(rate, digits)}"
        f"{_time_shared(context, use, rate)}; with {headroom:g} % headroom "
        f"{rate_figure(free, digits)} {narrow.way}{_made_of(context, path, narrow.way)}"
    )
    step = _STEP_MBPS if needed / share < _GIGABIT_MBPS else _GIGABIT_STEP_MBPS
    least = rate_text(float(np.ceil(round(needed / share / step, DECIMALS)) * step))
    remedy = f"{least} {narrow.way} or more at this step, or less demand"
    if not narrow.rate_mbps > 0 and use.link.kind == RADIO:
        message, remedy = _nothing(context, narrow, row)
    return Finding(
        "path-rate",
        severity,
        message,
        path=path,
        paths=(path,),
        step=row.step,
        where=row.at("part"),
        remedy=remedy,
        value=plain_value(needed),
        limit=plain_value(narrow.rate_mbps if severity == FAIL else free),
        unit="Mb/s",
        source="demand table; headroom, common practice",
        rows=(row.id,),
    )


def _both(figures: tuple[float, float], digits: int = 1) -> str:
    """Both directions in words: "28.2 up / 1.2 down Mb/s"."""
    up, down = (rate_figure(round(figure, DECIMALS), digits) for figure in figures)
    if up.endswith("Mb/s") and down.endswith("Mb/s"):
        up = up.removesuffix(" Mb/s")
        return f"{up} up / {down.removesuffix(' Mb/s')} down Mb/s"
    return f"{up} up / {down} down"


def _time_shared(context: Context, use: LinkUse, rate: tuple[float, float]) -> str:
    """What both directions have together, where they share the time."""
    if use.link.kind != RADIO:
        return ""
    near, _ = context.radio.hops.radios[use.link.index]
    return f" (together {rate_figure(sum(rate))})" if near.duplex == TDD else ""


def _made_of(context: Context, path: str, way: str) -> str:
    """The demand one way by the paths that it comes from, where there are several."""
    demand, place = context.performance.traffic.demand, WAYS.index(way)
    asked = [(name, demand[name][place]) for name in context.branches.below(path) if name in demand]
    asked = sorted((item for item in asked if item[1] > 0), key=lambda item: -item[1])
    if not asked:
        return ""
    words = [f"own {demand.get(path, (0.0, 0.0))[place]:g}"]
    words += [f"{name} {rate:g}" for name, rate in asked[:MOST_BRANCHES]]
    rest = asked[MOST_BRANCHES:]
    if rest:
        words.append(f"{len(rest)} more branches {sum(rate for _, rate in rest):g}")
    return f"; asked {way}: {', '.join(words)}"


def _nothing(context: Context, narrow: Strain, row: Any) -> tuple[str, str]:
    """Why a hop carries nothing: the whole air time is the other way's, or no mode may be used."""
    use = narrow.use
    direction = 2 * use.link.index + ((narrow.way == UP) != use.is_reversed)
    load = context.performance.traffic.on(use.link).along(use)
    if not context.performance.hops.time_share[direction] > 0:
        alone = rate_figure(load[WAYS.index(narrow.way)])
        said = f"{alone} run {narrow.way} over step {row.step:g}, which carries nothing that way"
        return said, "give the way a share of the air time in up_share_percent"
    said = (
        f"{_both(load)} run over step {row.step:g}, which carries nothing: no mode has the margin "
        "and the availability that are wanted"
    )
    return said, "settle the margin and the availability of the hop first"


def _stopped(context: Context, path: str) -> Iterator[Finding]:
    """A branch of a path that is dark, broken or unfed; the path itself has its own finding."""
    stop = context.stops[path]
    if path in stop.finding.paths:
        return
    row = context.network.chains[path].rows[0]
    yield Finding(
        "path-rate",
        FAIL,
        f"carries nothing, as {stop.path} does, which it branches from: {stop.finding.message}",
        path=path,
        paths=(path,),
        step=row.step,
        where=row.at("label"),
        remedy=stop.finding.remedy,
    )


def narrowest(context: Context, path: str, *, running: bool = False) -> Strain | None:
    """The link and direction in which the load is the largest part of the rate.

    running: only of links on which something runs.
    """
    worst: Strain | None = None
    for use in context.network.uses[path]:
        if use.link.kind == FEED:
            continue
        rates = along(context.performance.rates[use.link.key], use)
        loads = context.performance.traffic.on(use.link).along(use)
        shares = _hub_shares(context, use)
        for way, rate, needed, of_hub in zip(WAYS, rates, loads, shares, strict=True):
            if needed <= 0 or rate != rate or (running and not rate > 0):
                continue
            if of_hub > 0:
                rate /= of_hub  # that all hops of a hub are too much is said of the hub
            share = needed / rate if rate > 0 else float("inf")
            if worst is None or (share, needed) > (worst.share, worst.load_mbps):
                worst = Strain(share, needed, rate, way, use)
    return worst


def _hub_shares(context: Context, use: LinkUse) -> tuple[float, float]:
    """Share of its hub's time that a hop has, up and down; 1 without a hub."""
    if use.link.kind != RADIO:
        return 1.0, 1.0
    ways = slice(2 * use.link.index, 2 * use.link.index + 2)
    there, back = context.performance.hops.hub_share[ways].tolist()
    return along((there, back), use)


def demand_twice(context: Context) -> Iterator[Finding]:
    """assumption: a branch asks for the very same as its trunk: it counts on the trunk twice."""
    asked: dict[str, dict[tuple, Any]] = {}
    for row in context.design.demand:
        figures = (row.what, row.count, row.up_mbps, row.down_mbps)
        if row.what and (row.up_mbps or row.down_mbps):
            asked.setdefault(row.path, {})[figures] = row
    for branch, trunk in context.branches.parent.items():
        for figures, row in asked.get(branch, {}).items():
            if figures not in asked.get(trunk, {}):
                continue
            yield Finding(
                "assumption",
                NOTE,
                f"{figures[0]} is asked for by {branch} and by {trunk}, which it branches from: "
                f"taken as two, {trunk} carries both",
                path=branch,
                paths=(branch, trunk),
                where=row.at("what"),
                remedy="if it is one, take it out of the trunk's demand: a branch counts there by "
                "itself",
            )


def path_availability(context: Context) -> Iterator[Finding]:
    """path-availability: share of the year in which the path carries its demand."""
    for path, served in context.performance.paths.items():
        hops = [
            use
            for use in context.branches.uses_to_root(path, context.network)
            if use.link.kind == RADIO
        ]
        if not served.carries_data or served.is_stopped or not hops:
            continue
        worst = _worst_hop(context, hops)
        if served.availability_percent is None:
            yield _finding(
                context,
                path,
                THIN,
                worst,
                "the availability of the path cannot be calculated",
                "give what the hop's findings ask for",
                served,
            )
        elif round(served.availability_percent, DECIMALS) < served.target_availability_percent:
            what = "carries its demand" if served.has_demand else "holds"
            short, remedy = _what_lacks(context, path, served, worst)
            has, wanted = shares_against(
                served.availability_percent, served.target_availability_percent
            )
            yield _finding(
                context,
                path,
                FAIL,
                worst,
                f"the path {what} {has} of the year, {wanted} is wanted{short}{_together(served)}",
                remedy,
                served,
            )


def _what_lacks(
    context: Context, path: str, served: PathPerformance, worst: LinkUse
) -> tuple[str, str]:
    """How many dB or which mode is short at the worst hop, and what would settle it."""
    lack = short_of_target(
        context.radio,
        context.performance,
        worst.link,
        served.availability_percent,
        served.target_availability_percent,
    )
    place = "" if worst.path != path else f" at step {worst.first_step:g}"
    if lack.mode is None:
        said = f"; no mode{place} is fast enough: the fastest gives {rate_figure(lack.rate_mbps)}"
        return said, "a wider channel, a faster radio, or less demand"
    if lack.short_db is None:
        said = f"; no margin in {lack.mode}{place} reaches that"
        return said, "a shorter hop, a lower band, or a second path over another way"
    short = f"{np.ceil(round(10 * lack.short_db, DECIMALS)) / 10:.1f} dB"
    said = f"; {lack.mode}{place} is {short} short"
    if lack.short_db > MOST_ANTENNA_GAIN_DB:
        return said, f"{short}: no antenna closes that; a shorter hop, a lower band or another way"
    return said, f"gain {short} of margin at the hop, or a shorter hop, or a lower band"


def _together(served: PathPerformance) -> str:
    together = served.availability_with_backup_percent
    if together is None:
        return ""
    said = f"; together with {', '.join(served.backup_paths)}: {availability_text(together)}"
    enough = round(together, DECIMALS) >= served.target_availability_percent
    return said + ", enough where availability_percent is what each alone has to hold" * enough


def _worst_hop(context: Context, hops: list[LinkUse]) -> LinkUse:
    """The hop that is out the longest."""
    carried = context.performance.hops.carried_percent
    return min(hops, key=lambda use: min(carried[2 * use.link.index : 2 * use.link.index + 2]))


def _finding(
    context: Context,
    path: str,
    severity: str,
    worst: LinkUse,
    message: str,
    remedy: str,
    served: PathPerformance,
) -> Finding:
    """At the worst hop; at the begin of the path where that hop is another path's."""
    row, step, rows = worst.link.rows[0], worst.first_step, (worst.link.rows[0].id,)
    if worst.path != path:
        row = context.network.chains[path].rows[0]
        step, rows = row.step, ()  # nothing is wrong with what stands there
    return Finding(
        "path-availability",
        severity,
        message,
        path=path,
        paths=(path,),
        step=step,
        where=row.at("part"),
        remedy=remedy,
        value=plain_value(served.availability_percent),
        limit=served.target_availability_percent,
        unit=AVAILABILITY.unit,
        source=AVAILABILITY.source,
        rows=rows,
        shared=f"hop {worst.link.index}",
    )
