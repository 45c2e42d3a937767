"""Stretches of light: links from optic to optic, with the fiber between them."""

import itertools
from collections.abc import Iterator

from backhaul.design.kinds import KINDS
from backhaul.findings import NOTE, Finding
from backhaul.path import links as kinds_of_link
from backhaul.path.chain_parts import CutLink, Termination, broken, plugged


def cut_light(path, stretch, is_reversed, findings) -> Iterator[CutLink]:
    rows = stretch.rows
    ends = [index for index, row in enumerate(rows) if KINDS[row.kind].ends_light]
    if len(ends) < 2:
        row = rows[ends[0]] if ends else rows[0]
        message = "this optic has no partner" if ends else f"this {row.kind} ends at no optic"
        remedy = "add the optic at the other end" if ends else "add an optic at each end"
        findings.append(broken(path, row, "kind", message, remedy))
        return
    for outside in (*rows[: ends[0]], *rows[ends[-1] + 1 :]):
        findings.append(
            broken(
                path,
                outside,
                "kind",
                f"this {outside.kind} stands outside the two optics",
                "put it between the optics",
            )
        )
    if len(ends) % 2:
        findings.append(
            broken(
                path,
                rows[ends[-1]],
                "kind",
                "this optic has no partner",
                "add the optic at the other end",
            )
        )
    pairs = list(zip(ends[::2], ends[1::2], strict=False))
    for (_, first_last), (second_first, _) in itertools.pairwise(pairs):
        for row in rows[first_last + 1 : second_first + 1]:
            findings.append(
                broken(
                    path,
                    row,
                    "kind",
                    "two optical links follow each other with no equipment between them",
                    "add the device whose ports the two optics are in",
                )
            )
            break
    for index, (first, last) in enumerate(pairs):
        before = stretch.before if index == 0 else None
        after = stretch.after if index == len(pairs) - 1 else None
        near, far = before and before.leaves, after and after.enters
        if not any(KINDS[row.kind].is_run for row in rows[first + 1 : last]):
            findings.append(_no_fiber(path, rows[first : last + 1]))
            continue
        yield CutLink(
            kinds_of_link.OPTICAL,
            rows[first : last + 1],
            near,
            far,
            rows[first].step,
            rows[last].step,
            False,
            plugged(Termination(rows[first], "port", rows[first].port), before and before.exit),
            plugged(Termination(rows[last], "port", rows[last].port), after and after.entry),
        )
        for row, node in ((rows[first], near), (rows[last], far)):
            if node is None and len(pairs) == 1:
                findings.append(
                    Finding(
                        "assumption",
                        NOTE,
                        f"{row.part} stands in no device: its port was not checked",
                        path=path,
                        paths=(path,),
                        step=row.step,
                        where=row.at("kind"),
                        remedy="add the device beside it",
                        rows=(row.id,),
                    )
                )


def _no_fiber(path, rows) -> Finding:
    """Two optics face each other: the commonest slip of a table is a forgotten cable."""
    between = [row.kind for row in rows[1:-1]]
    what = f"only {' and '.join(dict.fromkeys(between))}" if between else "nothing"
    return broken(
        path,
        rows[-1],
        "kind",
        f"between the optics {rows[0].part} (step {rows[0].step:g}) and {rows[-1].part} stands {what}",
        "add the fiber between them: a patch cord is a row too",
    )
