"""Hops that share one terminal share its time."""

from collections.abc import Iterator
from math import ceil

import numpy as np

from backhaul.budgets.hop_rates import TDD, share_by_load_percent
from backhaul.budgets.hubs import Hub
from backhaul.checks.context import Context, on_link
from backhaul.figures.path_figures import AIRTIME_JUDGED
from backhaul.findings import FAIL, NOTE, PASS, Finding
from backhaul.path.ends import FDD
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import whole_against

#: Hops of a hub that a message names with what they take.
MOST_NAMED = 4


def airtime(context: Context) -> Iterator[Finding]:
    """path-rate: hops of one hub share its time: their loads over their rates add up to 1 at most."""
    hops, hubs = context.performance.hops, context.radio.hops.hubs
    headroom = context.design.project.rate_headroom_percent
    share = 1 - headroom / PERCENT
    for hub in hubs.all:
        if len(hub.hops) < 2:
            continue
        ways = np.array(hub.hops) * 2
        # a hub that sends and hears at once has the whole time for each
        way = int(np.argmax(hops.hub_busy[ways[0] : ways[0] + 2]))
        is_both = context.radio.hops.ends[hub.hops[0]][0].radio.duplex != FDD
        part = hops.busy[ways] + hops.busy[ways + 1] if is_both else hops.busy[ways + way]
        busy = round(float(hops.hub_busy[ways[0] + way]), DECIMALS)
        word = AIRTIME_JUDGED.word(hub_busy=busy, headroom_percent=headroom)
        if word != PASS:
            yield _short(context, hub, part, busy, share, str(word))


def _short(
    context: Context, hub: Hub, part: np.ndarray, busy: float, share: float, severity: str
) -> Finding:
    """Loads that take more of a hub's time than there is, the longest first."""
    links = [context.radio.links[place] for place in hub.hops]
    order = np.argsort(-part, kind="stable")
    most = links[int(order[0])]
    row = most.rows[0]
    named = [
        f"{links[n].rows[0].to_site or links[n].rows[0].label} {PERCENT * part[n]:.0f} %"
        for n in order[:MOST_NAMED].tolist()
    ]
    rest = order[MOST_NAMED:]
    if len(rest):
        named.append(f"{len(rest)} more {PERCENT * part[rest].sum():.0f} %")
    free = 1.0 if severity == FAIL else share
    takes, most_percent = whole_against(PERCENT * busy, PERCENT * free)
    return Finding(
        "path-rate",
        severity,
        f"{len(links)} hops share the airtime of {hub.label}: their demand takes {takes} % of it "
        f"({', '.join(named)}); there is {most_percent} %"
        + ("" if severity == FAIL else ", the rest is headroom (rate_headroom_percent)"),
        path=most.paths[0],
        paths=tuple(dict.fromkeys((*most.paths, *(p for link in links for p in link.paths)))),
        step=most.first_step,
        where=row.at("hub"),
        remedy=f"a second terminal for some of the hops, a wider channel, or less demand by "
        f"{ceil(round(PERCENT * (1 - share / busy), DECIMALS)):d} %",
        value=PERCENT * busy,
        limit=PERCENT * free,
        unit="%",
        source="demand table; headroom, common practice",
        rows=tuple(link.rows[0].id for link in links),
    )


def time_shares(context: Context) -> Iterator[Finding]:
    """assumption: the demand asks for a share of the time that hardly a radio offers."""
    for link in context.radio.links:
        near, _ = context.radio.hops.radios[link.index]
        row = link.rows[0]
        load = context.performance.traffic.on(link).along(link.uses[0])
        if near.duplex != TDD or row.up_share_percent is not None or not any(load):
            continue
        wanted = PERCENT * load[0] / sum(load)
        held = float(share_by_load_percent(*load))
        if round(wanted - held, DECIMALS):
            yield on_link(
                "assumption",
                NOTE,
                link,
                row,
                "up_share_percent",
                f"the demand would give {wanted:.0f} % of the airtime to up; {held:g} % is used, the "
                "usual limit of radios",
                remedy="type what the radio offers into up_share_percent",
                source="common practice",
            )
