"""Mode and core along a link, conditioning cords, connectors and polish, strands by label."""

import itertools
import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.budgets.orders import is_cord
from backhaul.budgets.terminations import strand_name
from backhaul.checks.context import Context, on_link
from backhaul.checks.fiber_modes import runs_of
from backhaul.checks.filters import may_share
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL, Link

#: How the catalogue marks a cord that launches off centre.
_CONDITIONING = re.compile("conditioning", re.IGNORECASE)


def conditioning_cord(context: Context) -> Iterator[Finding]:
    """conditioning-cord: a single-mode source on multimode fiber without its offset-launch cord."""
    for link in context.optical.links:
        glass = [context.catalog.fibers[row.part] for row in runs_of(link)]
        for row, cord in ((link.rows[0], glass[:1]), (link.rows[-1], glass[-1:])):
            optic = context.catalog.optics[row.part]
            if any(_CONDITIONING.search(f"{part.part} {part.description}") for part in cord):
                continue
            needing = [
                part.fiber_class
                for part in glass
                if (reach := context.catalog.optic_reach.get((optic.part, part.fiber_class)))
                is not None
                and reach.conditioning_cord
            ]
            if needing:
                yield on_link(
                    "conditioning-cord",
                    THIN,
                    link,
                    row,
                    "part",
                    f"{optic.part} on {needing[0]} wants a mode-conditioning cord beside it, none "
                    "is there",
                    remedy=_conditioning_remedy(context, optic, needing[0]),
                    source="IEEE 802.3-2018 38.11.4, 59.9.5, 68.9.3 (to be confirmed)",
                )


def _conditioning_remedy(context: Context, optic: Any, fiber_class: str) -> str:
    """The cord of the catalogue that fits the optic and the fiber."""
    for part in context.catalog.fibers.values():
        termination = f"{optic.receptacle}/{optic.polish}"
        if (
            part.fiber_class == fiber_class
            and part.end_a == termination
            and (_CONDITIONING.search(part.part))
        ):
            return f"a cord like {part.part} beside the optic, at both ends"
    return "begin the link with a cord whose name or description says conditioning, at both ends"


class Face(NamedTuple):
    """An end that mates: family and polish, of the row it belongs to."""

    family: str
    polish: str
    row: Any
    what: str


def connectors(context: Context) -> Iterator[Finding]:
    """connector-family and connector-polish along the chain of a link, from optic to optic."""
    for link in context.optical.links:
        yield from _mated(context, link)


def _mated(context: Context, link: Link) -> Iterator[Finding]:
    elements = [_faces(context, row) for row in link.rows]
    placed = list(elements)
    for index, (left, right, row) in enumerate(placed):
        if not KINDS[row.kind].is_run or _same(left, right):
            continue
        before = placed[index - 1][1] if index else None
        after = placed[index + 1][0] if index + 1 < len(placed) else None
        if _mismatches(before, left) + _mismatches(right, after) > (
            _mismatches(before, right) + _mismatches(left, after)
        ):
            placed[index] = (right, left, row)
    for (_, face, row), (other, _, next_row) in itertools.pairwise(placed):
        yield from _joint(link, face, row, other, next_row)


def _faces(context: Context, row) -> tuple[Face | None, Face | None, Any]:
    """The faces of a row towards the first and the last optic; None for a bare end."""
    kind = KINDS[row.kind]
    if kind.ends_light:
        optic = context.catalog.optics[row.part]
        face = _face(optic.receptacle, optic.polish, row, "receptacle")
        return face, face, row
    if kind.is_run:
        part = context.catalog.fibers[row.part]
        return (*(_end(text, row) for text in (part.end_a, part.end_b)), row)
    part = context.catalog.joints[row.part]
    face = None if kind.divides_run else _face(part.family, part.polish, row, "pair")
    return face, face, row


def _face(family, polish, row, what) -> Face | None:
    if not family or family.lower() in ("none", "splice"):
        return None
    return Face(family.upper(), (polish or "").upper().replace("NONE", ""), row, what)


def _end(text: str | None, row) -> Face | None:
    if not text:
        return None
    family, _, polish = text.partition("/")
    return _face(family.split(" ")[0], polish, row, "plug")


def _same(left: Face | None, right: Face | None) -> bool:
    if left is None or right is None:
        return left is right
    return left[:2] == right[:2]


def _is_angled(polish: str) -> bool | None:
    return polish == "APC" if polish else None


def _mismatches(face: Face | None, other: Face | None) -> int:
    """How badly two facing ends go together; a bare end goes with a joint, less with an optic."""
    if face is None or other is None:
        known = face or other
        return 1 if known is not None and known.what == "receptacle" else 0
    family = face.family != other.family
    polish = _is_angled(face.polish), _is_angled(other.polish)
    return 4 * family + 2 * (None not in polish and polish[0] != polish[1])


def _joint(link: Link, face, row, other, next_row) -> Iterator[Finding]:
    if face is None or other is None:
        known = face or other
        if known is not None and known.what == "receptacle":
            bare = next_row if face is not None else row
            if KINDS[bare.kind].is_run:
                yield on_link(
                    "assumption",
                    NOTE,
                    link,
                    bare,
                    "part",
                    f"the bare end beside {known.row.part} is taken as terminated on site with "
                    f"{known.family}/{known.polish or 'UPC'}",
                    remedy="add a cord or a terminated assembly if it is not",
                )
        elif KINDS[row.kind].is_run and KINDS[next_row.kind].is_run:
            yield on_link(
                "assumption",
                NOTE,
                link,
                next_row,
                "part",
                f"{row.part} meets {next_row.part} at a bare end with no joint between: no loss "
                "was counted for it",
                remedy="add a splice or connector row between the two",
            )
        return
    terminations = {face.what, other.what}
    where = next_row if KINDS[next_row.kind].is_run or face.what == "receptacle" else row
    pair = f"{face.family}/{face.polish or '?'} meets {other.family}/{other.polish or '?'}"
    between = f"({face.row.part} and {other.row.part})"
    if face.family != other.family:
        yield on_link(
            "connector-family",
            FAIL,
            link,
            where,
            "part",
            f"{pair} {between}",
            remedy=f"use a cord with {face.family} on one end and {other.family} on the other, "
            "or one family",
            value=other.family,
            limit=face.family,
            source="IEC 61754 families do not intermate (to be confirmed)",
            shared=f"link {link.index}",
        )
    elif terminations == {"plug"}:
        yield on_link(
            "connector-family",
            FAIL,
            link,
            where,
            "part",
            f"two plugs face each other {between}, with no mated pair between them",
            remedy="add a connector row between them",
        )
    angled = _is_angled(face.polish), _is_angled(other.polish)
    if None not in angled and angled[0] != angled[1]:
        yield on_link(
            "connector-polish",
            FAIL,
            link,
            where,
            "part",
            f"{pair} {between}: an angled face on a flat one leaves a gap, whatever the margin",
            remedy="use a cord or pair of one polish; angled only with angled",
            value=other.polish,
            limit=face.polish,
            source="IEC 61755; common practice: a hard error",
            shared=f"link {link.index}",
        )


def strand_label(context: Context) -> Iterator[Finding]:
    """strand-label: a strand of a labelled cable that serves two links, or that does not exist.

    Strands may be renumbered at any joint: each row names the strand of its own cable.
    """
    users: dict[tuple, dict[str, Link]] = defaultdict(dict)
    for link in context.network.links[OPTICAL]:
        for row in runs_of(link):
            names = tuple(dict.fromkeys(strand_name(strand) for strand in row.strand or ()))
            part = context.catalog.fibers[row.part]
            # a cord of one strand has no numbers of its own: it bears those of the cable
            strands = None if part.strands == 1 and is_cord(part) else part.strands
            beyond = [s for s in names if s.isdecimal() and strands and not 1 <= int(s) <= strands]
            if beyond:
                yield on_link(
                    "strand-label",
                    FAIL,
                    link,
                    row,
                    "strand",
                    f"strand {', '.join(beyond)} of {row.part}, which has {strands:g}",
                    remedy=f"name strands 1 to {strands:g}",
                    value=int(beyond[0]),
                    limit=strands,
                    shared=f"link {link.index}, {', '.join(beyond)}",
                )
            for strand in names if row.label else ():
                other = users[row_key(row)].setdefault(strand, link)
                if other is not link and not may_share(other, link, row, context):
                    yield on_link(
                        "strand-label",
                        FAIL,
                        link,
                        row,
                        "strand",
                        f"strand {strand} of {row.label} is used by path {other.paths[0]}, step "
                        f"{other.first_step:g}, too",
                        remedy="name a free strand, or put both links through filters at its ends, on "
                        "wavelengths of their own",
                        paths=tuple(dict.fromkeys((*link.paths, *other.paths))),
                    )
