"""Hops that share one terminal share its time."""

from collections.abc import Iterator

from backhaul.budgets.hop_rates import TDD, share_by_load_percent
from backhaul.checks.context import Context, on_link
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.links import Link
from backhaul.units import DECIMALS, PERCENT
from backhaul.wording import whole_against


def airtime(context: Context) -> Iterator[Finding]:
    """path-rate: hops of one hub share its time: their loads over their rates add up to 1 at most."""
    hubs: dict[tuple[str, str], list[Link]] = {}
    for link in context.radio.links:
        row = link.rows[0]
        if row.hub:
            hubs.setdefault((row.hub, row.site or ""), []).append(link)
    share = 1 - context.design.project.rate_headroom_percent / PERCENT
    for (hub, _), links in hubs.items():
        if len(links) < 2:
            continue
        parts = [(link, busy_share(context, link)) for link in links]
        busy = round(sum(part for _, part in parts), DECIMALS)
        if busy <= round(share, DECIMALS):
            continue
        most = max(parts, key=lambda item: item[1])[0]
        row = most.rows[0]
        paths = tuple(dict.fromkeys(path for link in links for path in link.paths))
        words = ", ".join(
            f"{link.rows[0].to_site or link.rows[0].label} {PERCENT * part:.0f} %"
            for link, part in parts
        )
        takes, free = whole_against(PERCENT * busy, PERCENT * (1.0 if busy > 1 else share))
        yield Finding(
            "path-rate",
            FAIL if busy > 1 else THIN,
            f"{len(links)} hops share the time of {hub}: their demand takes {takes} % of it "
            f"({words}); there is {free} %"
            + ("" if busy > 1 else ", the rest is headroom (rate_headroom_percent)"),
            path=paths[0],
            paths=paths,
            step=most.first_step,
            where=row.at("hub"),
            remedy=f"a second terminal for some of the hops, a wider channel, or less demand by "
            f"{PERCENT * (1 - share / busy):.0f} %",
            value=PERCENT * busy,
            limit=PERCENT * (1.0 if busy > 1 else share),
            unit="%",
            source="demand table; headroom, common practice",
            rows=tuple(link.rows[0].id for link in links),
        )


def busy_share(context: Context, link: Link) -> float:
    """Share of the time that a hop's load takes at the rates of the modes in use."""
    hops, load = context.performance.hops, context.performance.traffic.on(link)
    busy = 0.0
    for direction in (0, 1):
        way = 2 * link.index + direction
        share, rate = float(hops.time_share[way]), float(hops.user_rate_mbps[way])
        if load[direction] > 0:
            busy += load[direction] * share / rate if rate > 0 else float("inf")
    return busy if busy < float("inf") else 1.0


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
                f"the demand would give {wanted:.0f} % of the time to up; {held:g} % is taken, as "
                "radios offer",
                remedy="type what the radio offers into up_share_percent",
                source="common practice",
            )
