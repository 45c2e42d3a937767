"""Where the rows of a path stand: each begins where the one before it ends."""

from backhaul.design.kinds import KINDS
from backhaul.findings import Finding
from backhaul.path.chain_parts import broken


def place_rows(path: str, rows, places: dict[int, tuple]) -> tuple[list[Finding], set[int]]:
    """Give each row its site or sites; rows that do not join up are findings.

    Fills `places`: segment id -> (site where the path comes in, site where it leaves). Returns the
    findings and the ids of rows that the path runs through from their far end. A run that names
    no far site ends at the site of the next row that names one.
    """
    findings, is_reversed = [], set()
    placed: list[list[str | None]] = []
    open_from = 0  # rows from here on follow the last row that names a site
    here = None
    for row in rows:
        start, end = row.site, row.to_site
        if start and start != here:
            if end and end == here:
                if row.label or len(row.path) > 1:
                    is_reversed.add(row.id)
                else:
                    findings.append(
                        broken(
                            path,
                            row,
                            "site",
                            f"the {row.kind} runs from {start} to {end}, but "
                            f"the path stands at {here}",
                            "swap site and to_site of this row",
                        )
                    )
                start, end = end, start
            elif not _bring_to(start, rows, placed, open_from) and here:
                findings.append(
                    broken(
                        path,
                        row,
                        "site",
                        f"the path stands at {here}, this {row.kind} begins at {start}",
                        f"add the run from {here} to {start}, or correct the site",
                    )
                )
        if start or end:
            open_from = len(placed)
        start = start or here
        here = end or start
        placed.append([start, here])
    for row, (start, end) in zip(rows, placed, strict=True):
        places.setdefault(row.id, (start, end))
    return findings, is_reversed


def _bring_to(site: str, rows, placed: list[list[str | None]], open_from: int) -> bool:
    """Let the longest run whose far end nothing names end at `site`; False if there is none.

    Where no row before names a site, rows with no run between stand at `site` too.
    """
    runs = [
        place
        for place in range(open_from, len(placed))
        if KINDS[rows[place].kind].is_run and not rows[place].to_site
    ]
    longest = max(runs, key=lambda place: rows[place].length_m or 0.0, default=None)
    if longest is None:
        is_known = any(start for start, _ in placed)
        for pair in () if is_known else placed:
            pair[:] = site, site
        return not is_known
    placed[longest][1] = site
    for pair in placed[longest + 1 :]:
        pair[:] = site, site
    return True
