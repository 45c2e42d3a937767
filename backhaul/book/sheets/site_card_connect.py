"""Site cards: what is connected to what, from port to port, and which strand is spliced to which."""

from collections.abc import Sequence
from typing import Any

from backhaul.book.links import fitting_link
from backhaul.book.sheets.cable_strands import colour
from backhaul.book.sheets.page_fit import row_heights_pt
from backhaul.book.sheets.site_card import COLUMNS, Card, row_words
from backhaul.budgets.cable_runs import Run, Use, joint_text, port_text
from backhaul.budgets.terminations import strand_name, strands_needed
from backhaul.design.kinds import KINDS
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL, Link
from backhaul.spreadsheet.cells import Head, Text, ToFill
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.wording import each_once

#: Columns of what, from, to, strands, remark; where there is no fiber, without strands. Of several the
#: one with which the rows of the card are the lowest.
_SPANS = ((1, 2, 4, 2, 3), (1, 2, 3, 2, 4), (1, 1, 4, 2, 4), (1, 1, 4, 1, 5), (1, 1, 3, 1, 6))
_WIRED_SPANS = ((1, 3, 5, 0, 3), (1, 2, 5, 0, 4), (1, 2, 4, 0, 5))
_BETWEEN = " – "
#: What the splices are that no link runs through.
_EVERY_STRAND = "where lengths of cable meet, every strand, colour to colour where nothing is named"
#: From this column on words stand apart from what is left of them.
_APART_FROM = 2


def write_connect(card: Card, runs: list[Run]) -> None:
    """Every run that begins or ends here, once, with both of its ends."""
    here = [run for run in runs if any(end.site == card.name for end in run.ends)]
    if not here:
        return
    choice = _SPANS if any(run.is_fiber for run in here) else _WIRED_SPANS
    heads = ("Cable", "From", "To", "Strand, colour", "Remarks")
    rows = [_run_words(card, run) for run in here]
    spans = _lowest([heads, *rows], choice)
    card.section("Connect", *_cells(heads, "card head", spans))
    for run, words in zip(here, rows, strict=True):
        cells = _cells(words, "card text", spans)
        anchor = card.plan.anchors.get(("cable", run.row.id))
        cells[0] = fitting_link(
            words[0], anchor, COLUMNS[: spans[0]], style="card link", plain="card text"
        )
        card.sheet.row(*cells)


def _lowest(rows: Sequence[tuple[str, ...]], choice: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    """The spans with which rows of words take the least height, the first of those that are alike."""

    def height_pt(spans: tuple[int, ...]) -> float:
        laid = [Row(tuple(_cells(words, "card text", spans))) for words in rows]
        return sum(row_heights_pt(Sheet("", "", COLUMNS), laid))

    return min(choice, key=height_pt)


def _cells(words: tuple[str, ...], style: str, spans: tuple[int, ...]) -> list[Any]:
    made = Head if "head" in style else Text
    apart = style.replace("card", "card next")  # so that two full cells do not read as one
    return [
        made(text, style if place < _APART_FROM else apart, span)
        for place, (text, span) in enumerate(zip(words, spans, strict=True))
        if span
    ]


def _run_words(card: Card, run: Run) -> tuple[str, ...]:
    use = run.uses[0] if run.uses else None
    ends = tuple(
        _end_text(card, run, use, side) if use else (run.ends[side].text or "?") for side in (0, 1)
    )
    notes = [use.row.note or "" for use in run.uses] or [run.row.note or ""]
    if use:
        notes += [row.note or "" for step in (-1, 1) for row in _optics(use, step)]
    remarks = "; ".join(dict.fromkeys(word for word in (run.row.by, *notes) if word))
    return _cable_text(run), *ends, _strand_text(run), remarks


def _optics(use: Use, step: int) -> list[Any]:
    """The optic that light meets beyond an end of a run, before another run."""
    rows = use.link.rows[use.place + 1 :] if step > 0 else use.link.rows[: use.place][::-1]
    for row in rows:
        if KINDS[row.kind].is_run:
            return []
        if KINDS[row.kind].ends_light:
            return [row]
    return []


def _cable_text(run: Run) -> str:
    length = f"{run.row.length_m:g} m" if run.row.length_m else "length not given"
    name = f"{run.row.label}: " if run.row.label else ""
    return f"{name}{run.row.part}, {length}"


def _end_text(card: Card, run: Run, use: Use, side: int) -> str:
    """Port, protector and joints from an end of a run to what it leads to."""
    pieces = _pieces(use, -1 if side == 0 else 1)
    if not pieces:
        pieces = [run.ends[side].meets]
    if side == 0:
        pieces.reverse()
    site = run.ends[side].site
    words = _BETWEEN.join(piece for piece in pieces if piece)
    return f"{site}: {words}" if site and site != card.name else words


def _pieces(use: Use, step: int) -> list[str]:
    """What stands beyond an end of a run, nearest first, up to a port or the next run."""
    link, place, found = use.link, use.place + step, []
    while 0 <= place < len(link.rows):
        row = link.rows[place]
        kind = KINDS[row.kind]
        if kind.is_run:
            return [*found, f"cord to {_far_port(link, step)}" if found == [] else ""]
        if kind.ends_light:
            port = port_text(link, far=step > 0)
            return [*found, f"{port} ({row.part})" if port else row.part]
        found.append(_noted(joint_text(row), row))
        place += step
    return [*found, port_text(link, far=step > 0)]


def _far_port(link: Link, step: int) -> str:
    return port_text(link, far=step > 0)


def _noted(text: str, row: Any) -> str:
    return f"{text}, {row.note}" if row.note else text


def _strand_text(run: Run) -> str:
    """Strands in use with their colours; how many of the cable are free."""
    if not run.is_fiber:
        return ""
    names = list(
        dict.fromkeys(strand_name(name) for use in run.uses for name in use.row.strand or ())
    )
    if run.is_made:
        return each_once(names)
    words = each_once([_coloured(name) for name in names])
    total = int(run.record.strands or 0)
    free = total - len(names)
    return f"{words}; {free} free" if total and free > 0 else words


def _coloured(name: str) -> str:
    shade = colour(name)
    return f"{name} {shade}" if shade else name


def write_splices(card: Card, count: float) -> None:
    """Strand to strand of every splice of a link; of `count`, all of the site, how many more."""
    rows = [
        (link, place)
        for link in card.evaluation.network.links[OPTICAL]
        for place, row in enumerate(link.rows)
        if KINDS[row.kind].divides_run and card.evaluation.network.places[row.id][0] == card.name
    ]
    if not rows and not count:
        return
    heads = ("Splice", "From", "To", "Loss read, dB", "Of path")
    made: list[tuple[str, ...]] = []
    in_use: dict[tuple, int] = {}
    for link, place in rows:
        row = link.rows[place]
        strands = strands_needed(link, card.evaluation.catalog)
        splices = strands * (1 if row.count is None else row.count)
        in_use[row_key(row)] = max(in_use.get(row_key(row), 0), splices)
        made += [
            (
                _noted(joint_text(row), row),
                _side(link, place, -1, strand, strands),
                _side(link, place, 1, strand, strands),
                "",
                _user(link, strand, strands),
            )
            for strand in range(strands)
        ]
    spans = _lowest([heads, *made], _SPANS)
    title = "Splice (colours by TIA-598, to be confirmed)"
    card.section(title, *_cells(heads, "card head", spans))
    for words in made:
        cells = _cells(words, "card text", spans)
        cells[3] = ToFill(style="card fill", span=cells[3].span)
        card.sheet.row(*cells)
    more = count - sum(in_use.values())
    if more > 0:
        words = f"{more:g}{' more' if made else ''}: {_EVERY_STRAND}"
        card.sheet.row(Text(words, "card text", len(COLUMNS)))


def _side(link: Link, place: int, step: int, strand: int, count: int) -> str:
    """The strand on one side of a splice: of a cable, or of a pigtail."""
    row = link.rows[place + step]
    if KINDS[row.kind].is_run:
        names = row.strand or ()
        name = _coloured(strand_name(names[strand])) if strand < len(names) else "not named"
        return f"{row_words(row)} strand {name}"
    order = f", {strand + 1} of {count}" if count > 1 else ""
    return f"pigtail of {_noted(row.part, row)}{order}"


def _user(link: Link, strand: int, count: int) -> str:
    """Path, and which way the light goes in the strand."""
    end = link.far if strand and count > 1 else link.near
    sender = (end.label or end.part) if end is not None else ""
    paths = ", ".join(link.paths[:3])
    return f"{paths}: {sender} sends" if sender else paths
