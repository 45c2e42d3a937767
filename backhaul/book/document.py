"""What every book says of itself: title, who answers for it, revision, date, digest, program."""

from collections.abc import Sequence
from datetime import datetime

from backhaul import __version__
from backhaul.design.model import Design
from backhaul.spreadsheet.grid import Book, Sheet

#: Where a design has no date, the file still needs one that does not change with the clock.
NO_DATE = datetime(2000, 1, 1)


def title_of(design: Design) -> str:
    """What a design is called."""
    return design.project.title or design.name or "Backhaul budget"


def document(
    design: Design,
    sheets: Sequence[Sheet],
    *,
    subject: str,
    digests: str = "",
    names: dict[str, str] | None = None,
) -> Book:
    """A book of a design. digests: of the designs that it is about, where there are several."""
    project = design.project
    return Book(
        sheets,
        title=title_of(design),
        created=_date_of(project.date),
        subject=subject,
        author=project.prepared_by or "",
        revision=project.revision or "",
        date=project.date or "",
        keywords=f"backhaul {__version__}",
        description=f"{digests or f'digest {design.digest}'}, backhaul {__version__}",
        footer=" ".join(word for word in (project.document, project.status) if word),
        names=names or {},
    )


def _date_of(text: str | None) -> datetime:
    try:
        return datetime.fromisoformat(text) if text else NO_DATE
    except ValueError:
        return NO_DATE
