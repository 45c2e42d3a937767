"""Alternatives for radios and antennas: offered figures beside ours, and what comes of them."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from backhaul.book.keys import safe
from backhaul.book.offer_table import OFFER_NOTE, Field, OfferRows, Offers
from backhaul.book.plan import Plan
from backhaul.book.sheets.radio_uses import AirUses, Way
from backhaul.book.sheets.spare_modes import NOTHING, TYPED, fill_rows, spare_key, spare_name
from backhaul.book.status import offer_cell
from backhaul.budgets.requirements_radio import (
    antenna_demands,
    needed_mode,
    radio_demands,
    radio_ends,
)
from backhaul.figures.verdicts import margin_verdict
from backhaul.path.ends import far_antenna, near_antenna
from backhaul.path.links import RADIO
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text
from backhaul.spreadsheet.grid import Content, Sheet

#: Columns of each family: what is offered, its unit, its column in the catalogue, its digits.
_OFFERED = {
    "radios": (
        ("Antenna gain", "dBi", "antenna_dbi", 2),
        ("Power of modes that state none", "dBm", "tx_power_dbm", 2),
        ("Chains", "", "chains", 0),
        ("Noise figure", "dB", "noise_figure_db", 1),
        ("Beamwidth", "°", "beamwidth_deg", 2),
        ("Highest input level", "dBm", "max_input_dbm", 1),
        ("Share for user data", "", "mac_efficiency", 2),
    ),
    "antennas": (
        ("Gain", "dBi", "gain_dbi", 2),
        ("Beamwidth", "°", "beamwidth_deg", 2),
        ("Diameter", "m", "diameter_m", 2),
    ),
}
_RESULTS = (
    ("Margin", "dB"),
    ("Distance to overload", "dB"),
    ("Verdict", ""),
    ("Tightest hop", ""),
)
FIGURES = 7
_FURTHER_NOTE = "Empty: no such mode. A mode counts once rate, sensitivity and power are typed."
#: Hops behind one formula: the tightest ones stand for the rest, since a part moves all alike.
MOST_HOPS = 12
_KINDS = (("radios", "Radios"), ("antennas", "Antennas"))


def write_air(plan: Plan, sheet: Sheet, orders: dict[tuple[str, str], str]) -> Offers:
    """Radios and antennas; returns the keys of the cells to type into."""
    uses = AirUses(plan)
    offered: Offers = []
    for family, title in _KINDS:
        rows = OfferRows(plan, sheet, FIGURES)
        parts = list(_parts(plan, family))
        if not parts:
            continue
        sheet.heading(f"{title}: in the mode that the path needs")
        _head(sheet, *_heads(family))
        for part in parts:
            ways = uses.ways(family, part)
            found = [uses.add(family, part, way) for way in ways]
            words = orders.get((family, part), "not on the order list")
            rows.write(
                f"alt.{family}.{part}",
                Text(part, "strong"),
                words,
                list(_fields(plan, family, part)),
                found,
            )
        rows.finish(title.lower())
        offered += rows.offered
        if family == "radios":
            offered += _modes(plan, sheet, uses, parts)
    if uses.rows:
        sheet.heading("Every hop of these radios and antennas")
        sheet.row(
            Text("Part", "head"),
            Text("Hop, direction", "head", 4),
            Text("Mode", "head"),
            *(
                Text(head, "head right")
                for head in (
                    "Margin, ours",
                    "Margin, offered",
                    "Overload, ours",
                    "Overload, offered",
                )
            ),
            Text("Verdict, ours", "head center"),
            Text("Offered", "head center"),
            Text("", "head"),
        )
        sheet.table(uses.rows)
    return offered


def _heads(family: str) -> tuple[list[str], list[str]]:
    """Headings and units of a family's table."""
    shown = [(name, unit) for name, unit, *_ in _OFFERED[family]]
    shown += [("", "")] * (FIGURES - len(shown))
    both = [("", ""), ("", ""), *shown, *_RESULTS]
    return [name for name, _ in both], [unit for _, unit in both]


def _head(sheet: Sheet, head: Sequence[str], units: Sequence[str]) -> None:
    last = len(head) - 1
    for names, styles in ((head, ("head", "head right")), (units, ("text small", "text right"))):
        sheet.row(
            *(
                Text(name, styles[0] if n in (0, 1, last) else styles[1])
                for n, name in enumerate(names)
            )
        )


def _parts(plan: Plan, family: str) -> Iterator[str]:
    seen: dict[str, None] = {}
    for link in plan.evaluation.network.links[RADIO]:
        row = link.rows[0]
        pair = (row.part, row.to_part or row.part)
        if family == "antennas":
            catalog = plan.evaluation.catalog
            pair = (near_antenna(row, catalog), far_antenna(row, catalog))
        seen.update(dict.fromkeys(name for name in pair if name))
    yield from seen


def _fields(plan: Plan, family: str, part: str) -> Iterator[Field]:
    record = getattr(plan.evaluation.catalog, family)[part]
    limits: dict[str, Any] = {}
    found = (antenna_demands if family == "antennas" else radio_demands)(
        plan.evaluation, part, "", []
    )
    limits = {d.field: d for d in reversed(found) if d.field not in _OF_MODES}
    for column, (name, unit, field, digits) in enumerate(_OFFERED[family]):
        key = f"given.{family}.{part}.{field}"
        if key not in plan.inputs.rows:  # a figure that no line of the book shows yet
            plan.inputs.part(family, record, field, name.lower(), unit)
        if key in plan.inputs.rows:
            yield Field(column, (key,), digits, limits.get(field))


#: Figures that a radio states mode by mode.
_OF_MODES = ("sensitivity_dbm", "tx_power_dbm")


def _modes(plan: Plan, sheet: Sheet, uses: AirUses, parts: Sequence[str]) -> Offers:
    """Sensitivity and power of every mode of the radios, ours and offered."""
    offered: Offers = []
    used: list[tuple[SheetCell, ...]] = []
    head = (
        "Modes of the radios",
        "",
        "On air",
        "offered",
        "Sensitivity",
        "offered",
        "must be",
        "Power of part",
        "offered",
        "Margin, ours",
        "Margin, offered",
        "Keeps",
        "Tightest hops",
    )
    sheet.blank()
    sheet.say(
        "A radio with other modes: type its rates, sensitivities and powers over ours, slowest "
        "first; of a mode that it lacks type 0.001 Mb/s and 0 dBm of sensitivity, and what it has "
        "more in the rows of further modes, all three figures, for the radios of both ends.",
        "muted",
    )
    _head(
        sheet,
        head,
        ("", "", "Mb/s", "Mb/s", "dBm", "dBm", "dBm", "dBm", "dBm", "dB", "dB", "healthy", ""),
    )
    for part in parts:
        ways = uses.ways("radios", part)[:MOST_HOPS]
        limit = _sensitivity_limit(plan, part)
        names: dict[tuple[float, str], list[tuple[Way, int]]] = {}
        for way in ways:
            start, end = (int(plan.evaluation.radio.mode_start[way.direction + n]) for n in (0, 1))
            for mode in range(start, end):
                channel = float(plan.evaluation.radio.values["channel_mhz"][way.direction])
                title = (channel, plan.evaluation.radio.modes["name"][mode])
                names.setdefault(title, []).append((way, mode))
        for (channel, title), places in names.items():
            row, keys, cells = _mode(plan, uses, part, channel, title, places, limit)
            sheet.row(*row)
            offered += keys
            used += cells
        for channel in dict.fromkeys(channel for channel, _ in names):
            of_channel = [places[0] for (each, _), places in names.items() if each == channel]
            offered += _further(plan, sheet, uses, part, channel, of_channel)
    fill_rows(plan)
    if used:
        sheet.helper("In use: modes", ("in use", "figure"), used)
    return offered


def _further(
    plan: Plan,
    sheet: Sheet,
    uses: AirUses,
    part: str,
    channel: float,
    places: Sequence[tuple[Way, int]],
) -> Offers:
    """Rows for modes that an offered radio has besides; returns what can be typed."""
    inputs, offered = plan.inputs, []
    way, mode = places[0]
    like = {name: uses.mode_key(part, way.direction, mode, name) for name in TYPED}
    if like[TYPED[-1]] not in inputs.rows:  # one power for all modes
        like[TYPED[-1]] = f"given.radios.{part}.{TYPED[-1]}"
    if not all(key in inputs.rows for key in like.values()):
        return []
    ways = [
        each
        for each in uses.ways("radios", part)[:MOST_HOPS]
        if plan.evaluation.radio.values["channel_mhz"][each.direction] == channel
    ]
    room = [plan.spares.get((each.of.hop, each.of.sender.number), 0) for each in ways]
    for spare in range(max(room, default=0)):
        keys = {name: spare_key(part, channel, spare, name) for name in TYPED}
        plan.together.update(dict.fromkeys(keys.values(), tuple(keys.values())))
        offered += [(keys[name], (like[name],)) for name in TYPED]
        rate, sensitivity, power = (
            offer_cell(plan, keys[name], (like[name],), "0.0", _FURTHER_NOTE) for name in TYPED
        )
        margins = ",".join(
            f"{{{each.key}.mode{_count(plan, each) + spare}.margin_db}}"
            for each, rows in zip(ways, room, strict=True)
            if spare < rows
        )
        key = f"{keys[TYPED[0]].rpartition('.')[0]}.margin.offered"
        text = f'IF(COUNT({margins})>0,MIN({margins}),"{NOTHING}")'
        name = Text(spare_name(spare), "text small")
        words = Text("a further mode", "text small")
        sheet.row(
            *(Text(part, "text small"), name, "", rate, "", sensitivity, "", "", power, ""),
            *(Calc(key, text, NOTHING, format="0.00", style="calc"), "", words),
        )
    return offered


def _count(plan: Plan, way: Way) -> int:
    start, end = (int(plan.evaluation.radio.mode_start[way.direction + n]) for n in (0, 1))
    return end - start


def _sensitivity_limit(plan: Plan, part: str) -> tuple[int, Any]:
    """The mode that a limit is made for, and the limit."""
    needed = [
        n
        for way in radio_ends(plan.evaluation, part, "")
        if (n := needed_mode(plan.evaluation, way.back)) is not None
    ]
    if not needed:
        return -1, None
    tightest = min(needed, key=lambda n: n.slack_db)
    found = [
        d for d in radio_demands(plan.evaluation, part, "", []) if d.field == "sensitivity_dbm"
    ]
    return tightest.mode, found[0] if found else None


def _mode(plan, uses, part, channel, title, places, limit):
    """One mode of one radio: its row, the cells to type into, the figures in use."""
    prefix = f"alt.radio_modes.{part}.{channel:g}.{safe(title)}"
    radio, inputs = plan.evaluation.radio, plan.inputs
    way, mode = places[0]
    cells: list[Content] = [
        Text(part, "text small"),
        Text(title, "text small"),
    ]
    typed: Offers = []
    used: list[tuple[SheetCell, ...]] = []
    for name in ("rate_mbps", "sensitivity_dbm", "tx_power_dbm"):
        given = uses.mode_key(part, way.direction, mode, name)
        if given not in inputs.rows:
            cells += ["", ""]
        else:
            value, key = float(inputs.rows[given].value), f"{prefix}.{name}"
            inputs.replaced.add(given)
            typed.append((key, (given,)))
            cells += [
                Calc(f"{key}.ours", f"{{{given}}}", value, format="0.0"),
                offer_cell(plan, key, (given,), "0.0", OFFER_NOTE),
            ]
            in_use = f"IF(ISNUMBER({{{key}}}),{{{key}}},{{{given}}})"
            used.append(
                (
                    Calc(inputs.in_use(given), in_use, value),
                    Text(inputs.rows[given].label, "helper head"),
                )
            )
        if name == "sensitivity_dbm":
            is_limit = limit[1] is not None and any(m == limit[0] for _, m in places)
            cells.append(Number(limit[1].limit, format='"≤ "0.0;"≤ "-0.0') if is_limit else "")
    known = [(w, m) for w, m in places if not np.isnan(radio.modes["margin_db"][m])]
    if not known:
        return [*cells, "", "", "", ""], typed, used
    least = min(float(radio.modes["margin_db"][m]) for _, m in known)
    ours = ",".join(uses.margin_ours("radios", part, w, m) for w, m in known)
    now = ",".join(
        f"{{{w.key}.mode{m - int(radio.mode_start[w.direction])}.margin_db}}" for w, m in known
    )
    healthy = float(plan.evaluation.radio.values["healthy_margin_db"][known[0][0].direction])
    wanted = f"{{{known[0][0].key}.healthy_margin_db}}"
    word = "yes" if str(margin_verdict(margin=least, healthy=healthy)) == "pass" else "–"
    cells += [
        Calc(f"{prefix}.margin.ours", f"MIN({ours})", least, format="0.00"),
        Calc(f"{prefix}.margin.offered", f"MIN({now})", least, format="0.00"),
        Calc(
            f"{prefix}.keeps",
            f'IF(ROUND({{{prefix}.margin.offered}},6)>=ROUND({wanted},6),"yes","–")',
            word,
            style="calc text",
        ),
        Text(f"of {len(known)} direction{'s' * (len(known) > 1)}", "text small"),
    ]
    return cells, typed, used
