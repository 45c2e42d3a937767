"""A segment and its link in one line: where it runs, what the link has left."""

from typing import Any

from backhaul.budgets.hop_rates import TDD
from backhaul.budgets.performance import along
from backhaul.checks.results import Results
from backhaul.checks.stops import OF_LIGHT
from backhaul.findings import FAIL
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO, LinkUse
from backhaul.wording import against, length_text, rate_figure, rate_text


def row_words(evaluation: Results, row) -> list[str]:
    """Where a segment stands or runs, how long it is, how many."""
    words = []
    site, far = evaluation.network.places[row.id]
    if site:
        words.append(f"{site} → {far}" if far and far != site else site)
    if row.length_m:
        words.append(length_text(row.length_m))
    if row.count and row.count > 1:
        words.append(f"× {row.count}")
    return words


def telling_row(use: LinkUse) -> int:
    """The row at which the figures of a link stand: the run of a wired one, else its first."""
    link = use.link
    if link.kind in (COPPER, FEED) and link.run.id in use.row_ids:
        return link.run.id
    if link.kind in (COPPER, FEED):
        return use.row_ids[len(use.row_ids) // 2]
    return use.row_ids[0]


def link_words(evaluation: Results, use: LinkUse) -> str:
    """What a link has left, in one breath."""
    return _WORDS[use.link.kind](evaluation, use)


def _optical(evaluation: Results, use: LinkUse) -> str:
    index = use.link.index
    if any(
        finding.severity == FAIL and finding.check in OF_LIGHT
        for row in use.link.row_ids
        for finding in evaluation.findings_on.get(row, ())
    ):
        return "dark whatever the margin"
    margins = evaluation.optical.values["margin_db"][2 * index : 2 * index + 2]
    if not (margins == margins).all():
        return "margin not known"
    words = f"margin {_margins(evaluation, index, margins)} dB"
    remains = evaluation.optical.values["remaining_margin_db"][2 * index : 2 * index + 2]
    if (remains == remains).all():
        words += f", as read {_margins(evaluation, index, remains)} dB"
    return words


def _margins(evaluation: Results, index: int, margins: Any) -> str:
    """Margins of both ways; once, where they are printed alike."""
    wanted = evaluation.optical.values["healthy_margin_db"][2 * index : 2 * index + 2]
    forward, back = (
        against(margin, least)[0] for margin, least in zip(margins, wanted, strict=True)
    )
    return forward if forward == back else f"{forward} / {back}"


def _radio(evaluation: Results, use: LinkUse) -> str:
    """Mode in use, its margin, its rate: all of one mode, the tighter direction first to tell."""
    index, hops, modes = use.link.index, evaluation.performance.hops, evaluation.radio.modes
    distance = evaluation.radio.hops.distance_km[index]
    words = [f"{distance:.2f} km" if distance == distance else "distance not known"]
    ways = along((2 * index, 2 * index + 1), use)
    told = [_mode(evaluation, way) for way in ways]
    if all(told):
        words.append(_both(told))
        if designed := _designed(evaluation, use):
            words.append(designed)
        rates = [float(hops.user_rate_mbps[way]) for way in ways]
        if all(rate == rate for rate in rates):
            words.append(_rates(evaluation, use, rates))
    elif not len(modes["margin_db"]):
        words.append("no mode")
    return ", ".join(words)


def _designed(evaluation: Results, use: LinkUse) -> str:
    """Margins as designed, where levels that were read have moved them."""
    built = evaluation.context.built
    if built is None or use.link.rows[0].id not in built.fixed_loss_db:
        return ""
    ways = along((2 * use.link.index, 2 * use.link.index + 1), use)
    told = [_mode(built.designed, way) for way in ways]
    return f"designed {_both(told)}" if all(told) else ""


def _mode(evaluation: Results, way: int) -> tuple[str, str] | None:
    """Mode in use and its margin, with the digit that tells it from the one that is wanted."""
    hops, modes = evaluation.performance.hops, evaluation.radio.modes
    mode = int(hops.mode[way])
    if mode < 0 or modes["margin_db"][mode] != modes["margin_db"][mode]:
        return None
    margin, _ = against(modes["margin_db"][mode], evaluation.radio.values["healthy_margin_db"][way])
    return str(modes["name"][mode]), f"{margin} dB"


def _both(told: list) -> str:
    """The modes of both directions, what they have in common once."""
    (up, up_db), (down, down_db) = told
    if up == down:
        return f"{up} {up_db}" if up_db == down_db else f"{up} {up_db} up / {down_db} down"
    return f"{up} {up_db} up / {down} {down_db} down"


def _rates(evaluation: Results, use: LinkUse, rates: list[float]) -> str:
    if not any(rates):
        return "no rate"
    up, down = (rate_figure(rate) for rate in rates)
    unit = " Mb/s"
    together = ""
    near, _ = evaluation.radio.hops.radios[use.link.index]
    if near.duplex == TDD:
        together = f" of {rate_figure(sum(rates))}"
    if up == down:
        return f"{up} each way{together}"
    if up.endswith(unit) and down.endswith(unit):
        words = f"{up.removesuffix(unit)} up / {down.removesuffix(unit)} down"
        return words + (together or unit)
    return f"{up} up / {down} down{together}"


def _feed(evaluation: Results, use: LinkUse) -> str:
    values = evaluation.power.by_link[use.link.key].values
    volts, watts = values["load_v"], values["load_w"]
    if volts != volts:
        return "no voltage at the load"
    return f"{watts:.1f} W at {volts:.1f} V, drop {values['drop_percent']:.1f} %"


def _copper(evaluation: Results, use: LinkUse) -> str:
    rate = evaluation.copper.rate_mbps[use.link.index]
    words = rate_text(rate) if rate == rate else "no rate"
    line = evaluation.power.by_link.get(use.link.key)
    if line is not None and line.values["load_v"] == line.values["load_v"]:
        words += f", {line.values['load_w']:.1f} W at {line.values['load_v']:.1f} V"
    return words


_WORDS = {OPTICAL: _optical, RADIO: _radio, FEED: _feed, COPPER: _copper}
