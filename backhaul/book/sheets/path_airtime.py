"""What the hops of one terminal take of its time, on the path of each of them, live."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from backhaul.book.formula_cells import verdict_cell
from backhaul.book.plan import Plan
from backhaul.figures.path_figures import AIRTIME_JUDGED
from backhaul.path.links import RADIO
from backhaul.spreadsheet.cells import Calc, Verdict


class Airtime(NamedTuple):
    """A shared terminal of a path: its share of the time that is taken, and what is said of it."""

    label: str
    share: Calc
    verdict: Verdict


def airtimes(plan: Plan, path: str, prefix: str) -> Iterator[Airtime]:
    """The terminals that hops of a path share with others, those whose figures are on Radio hops."""
    evaluation = plan.evaluation
    hubs, hops = evaluation.radio.hops.hubs, evaluation.performance.hops
    own = {u.link.index for u in evaluation.network.uses[path] if u.link.kind == RADIO}
    for hub in hubs.all:
        first = evaluation.radio.links[hub.hops[0]]
        if len(hub.hops) < 2 or own.isdisjoint(hub.hops) or first.key not in plan.anchors:
            continue
        busy = float(hops.hub_busy[2 * first.index : 2 * first.index + 2].max())
        if not np.isfinite(busy):
            continue
        headroom = plan.inputs.project(
            evaluation, "rate_headroom_percent", "share of the rate kept free", "%"
        )
        key = f"{prefix}.airtime.{hub.hops[0]}"
        both = ",".join(f"{{air.{first.index}.{end}.hub_busy}}" for end in "ab")
        cell = verdict_cell(
            AIRTIME_JUDGED.word,
            f"{key}.verdict",
            {"hub_busy": key, "headroom_percent": headroom},
            {
                "hub_busy": busy,
                "headroom_percent": evaluation.design.project.rate_headroom_percent,
            },
        )
        share = Calc(key, f"MAX({both})", busy, format="0.0%", span=2)
        yield Airtime(hub.label, share, cell)
