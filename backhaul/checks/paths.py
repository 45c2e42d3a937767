"""The whole path: does the rate carry the demand, does the year hold."""

from collections.abc import Iterator

from backhaul.budgets.performance import PathPerformance, narrow_row
from backhaul.checks.context import Context, plain_value
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.links import FEED, RADIO
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import rate_text


def path_rate(context: Context) -> Iterator[Finding]:
    """path-rate: what a link must carry against its rate with headroom; the narrowest is named."""
    headroom = context.design.project.rate_headroom_percent
    share = 1 - headroom / PERCENT
    found: dict[tuple, Finding] = {}
    for path, served in context.performance.paths.items():
        if not served.carries_data or not served.has_demand:
            continue
        narrow = _narrowest(context, path, share)
        if narrow is None:
            continue
        needed, rate, way, use = narrow
        needed = round(needed, DECIMALS)
        if needed <= round(rate * share, DECIMALS):
            continue
        key = (use.link.key, way == "down" if not use.is_reversed else way == "up")
        if key in found:
            found[key] = found[key]._replace(paths=(*found[key].paths, path))
            continue
        severity = FAIL if needed > round(rate, DECIMALS) else THIN
        row = narrow_row(use, context.network)
        carries = f"{rate_text(round(rate, 1))}; {headroom:g} % headroom is wanted"
        remedy = f"{rate_text(round(needed / share, 1))} or more at this step, or less demand"
        if not rate > 0 and use.link.kind == RADIO:
            carries, remedy = _nothing(context, use, way)
        found[key] = Finding(
            "path-rate",
            severity,
            f"{rate_text(needed)} run {way} over step {row.step:g}, which carries {carries}",
            path=path,
            paths=(path,),
            step=row.step,
            where=row.at("part"),
            remedy=remedy,
            value=plain_value(needed),
            limit=plain_value(rate if severity == FAIL else rate * share),
            unit="Mb/s",
            source="demand table; headroom, common practice",
            rows=(row.id,),
        )
    yield from found.values()


def _nothing(context: Context, use, way: str) -> tuple[str, str]:
    """Why a hop carries nothing: the whole air time is the other way's, or no mode may be used."""
    index = 2 * use.link.index + (way == ("up" if not use.is_reversed else "down"))
    if context.performance.hops.reached[index]:
        return "nothing that way", "give the way a share of the air time in up_share_percent"
    return (
        "nothing: no mode has the margin and the availability that are wanted",
        "settle the margin and the availability of the hop first",
    )


def _narrowest(context: Context, path: str, share: float):
    """The link and direction in which the load is the largest part of the rate."""
    worst = None
    for use in context.network.uses[path]:
        if use.link.kind == FEED:
            continue
        forward, back = context.performance.rates[use.link.key]
        load = context.performance.traffic.on(use.link)
        for rate, needed, along in ((forward, load[0], True), (back, load[1], False)):
            if needed <= 0 or rate != rate:
                continue
            way = "down" if along != use.is_reversed else "up"
            strain = (needed / rate if rate > 0 else float("inf"), needed)
            if worst is None or strain > worst[0]:
                worst = (strain, (needed, rate, way, use))
    return worst[1] if worst else None


def path_availability(context: Context) -> Iterator[Finding]:
    """path-availability: share of the year in which the path carries its demand."""
    for path, served in context.performance.paths.items():
        hops = [
            use
            for use in context.branches.uses_to_root(path, context.network)
            if use.link.kind == RADIO
        ]
        if not served.carries_data or not hops:
            continue
        if served.availability_percent is None:
            yield _finding(
                context,
                path,
                THIN,
                hops,
                "the availability of the path cannot be had",
                "give what the hop's findings ask for",
                served,
            )
        elif round(served.availability_percent, DECIMALS) < served.target_availability_percent:
            what = "carries its demand" if served.has_demand else "holds"
            yield _finding(
                context,
                path,
                FAIL,
                hops,
                f"the path {what} {served.availability_percent:.4f} % of the year, "
                f"{served.target_availability_percent:g} % is wanted" + _together(served),
                "more margin at the hop, a shorter hop, or a lower band",
                served,
            )


def _together(served: PathPerformance) -> str:
    if served.availability_with_backup_percent is None:
        return ""
    return f"; together with {', '.join(served.backup_paths)}: {served.availability_with_backup_percent:.4f} %"


def _finding(
    context: Context,
    path: str,
    severity: str,
    hops,
    message: str,
    remedy: str,
    served: PathPerformance,
) -> Finding:
    """At the hop that is out the longest; at the first row where that hop is another path's."""
    carried = context.performance.hops.carried_percent
    worst = min(hops, key=lambda use: min(carried[2 * use.link.index : 2 * use.link.index + 2]))
    row, step = worst.link.rows[0], worst.first_step
    if worst.path != path:
        row = context.network.chains[path].rows[0]
        step = row.step
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
        unit="%",
        source="ITU-R P.530, hops multiplied, propagation only",
        rows=(row.id,),
    )
