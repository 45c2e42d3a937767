"""The whole path: does the rate carry the demand, does the year hold."""

from collections.abc import Iterator

from backhaul.budgets.service import Load, PathService
from backhaul.checks.context import Context, plain_value
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.links import FEED, RADIO
from backhaul.units import PERCENT
from backhaul.wording import rate_text

DECIMALS = 6


def path_rate(context: Context) -> Iterator[Finding]:
    """path-rate: what a link must carry against its rate with headroom; the narrowest is named."""
    share = 1 - context.design.project.rate_headroom_percent / PERCENT
    for path, served in context.service.paths.items():
        if not served.carries_data or not served.has_demand:
            continue
        narrow = _narrowest(context, path, share)
        if narrow is None:
            continue
        needed, rate, way, use = narrow
        if needed <= round(rate * share, DECIMALS):
            continue
        severity = FAIL if needed > round(rate, DECIMALS) else THIN
        row = next(row for row in use.link.rows)
        yield Finding(
            "path-rate", severity,
            f"{rate_text(needed)} run {way} over step {use.first_step:g}, which carries "
            f"{rate_text(round(rate, 1))}; {context.design.project.rate_headroom_percent:g} % "
            "headroom is wanted",
            path=path, paths=(path,), step=use.first_step, where=row.at("part"),
            remedy=f"{rate_text(round(needed / share, 1))} or more at this step, or less demand",
            value=plain_value(needed),
            limit=plain_value(rate if severity == FAIL else rate * share), unit="Mb/s",
            source="demand table; headroom, common practice", rows=(row.id,),
        )  # fmt: skip


def _narrowest(context: Context, path: str, share: float):
    """The link and direction in which the load is the largest part of the rate."""
    worst = None
    for use in context.network.uses[path]:
        if use.link.kind == FEED:
            continue
        forward, back = context.service.rates[use.link.key]
        load = context.service.load.get(use.link.key, Load(0.0, 0.0))
        for rate, needed, along in ((forward, load[0], True), (back, load[1], False)):
            if needed <= 0 or rate != rate:
                continue
            way = "down" if along != use.turned else "up"
            strain = needed / rate if rate > 0 else float("inf")
            if worst is None or strain > worst[0]:
                worst = (strain, (needed, rate, way, use))
    return worst[1] if worst else None


def path_availability(context: Context) -> Iterator[Finding]:
    """path-availability: share of the year in which the path carries its demand."""
    for path, served in context.service.paths.items():
        if not served.carries_data or not _has_hop(context, path):
            continue
        if served.availability_percent is None:
            row = _hop_row(context, path)
            yield _finding(path, THIN, row, "the availability of the path cannot be had",
                           "give what the hop's findings ask for", served)  # fmt: skip
        elif round(served.availability_percent, DECIMALS) < served.target_percent:
            row = _hop_row(context, path)
            what = "carries its demand" if served.has_demand else "holds"
            yield _finding(
                path, FAIL, row,
                f"the path {what} {served.availability_percent:.4f} % of the year, "
                f"{served.target_percent:g} % is wanted",
                "more margin at the hop, a shorter hop, a lower band, or a path that backs it up",
                served,
            )  # fmt: skip


def _finding(path: str, severity: str, row, message: str, remedy: str, served: PathService):
    return Finding(
        "path-availability", severity, message, path=path, paths=(path,), step=row.step,
        where=row.at("part"), remedy=remedy, value=plain_value(served.availability_percent),
        limit=served.target_percent, unit="%",
        source="ITU-R P.530, hops multiplied, propagation only", rows=(),
    )  # fmt: skip


def _has_hop(context: Context, path: str) -> bool:
    return any(use.link.kind == RADIO for use in context.network.uses[path])


def _hop_row(context: Context, path: str):
    """Row of the hop that is out the longest."""
    carried = context.service.hops.carried_percent
    hops = [use.link for use in context.network.uses[path] if use.link.kind == RADIO]
    worst = min(hops, key=lambda link: min(carried[2 * link.index : 2 * link.index + 2]))
    return worst.rows[0]
