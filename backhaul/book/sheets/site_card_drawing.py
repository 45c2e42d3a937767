"""The line drawing on a site card: what stands there and what leads away, path by path."""

from collections.abc import Collection

from backhaul.book.pictures import PathPictures
from backhaul.book.sheets.page_fit import PT_PER_CHARACTER
from backhaul.book.sheets.site_card import COLUMNS, Card

#: More paths at a site are too many for a drawing on its card.
MOST_PATHS_OF_A_CARD = 12


def write_drawing(card: Card, site: str, here: Collection[str]) -> None:
    """The last part of a card, so that it can be left out; `here` are the paths at the site."""
    paths = [path for path in card.evaluation.network.chains if path in here]
    if not paths or len(paths) > MOST_PATHS_OF_A_CARD:
        return
    pictures = PathPictures(card.evaluation, sum(COLUMNS) * PT_PER_CHARACTER)
    lines = pictures.of_site(site, paths)
    if not lines:
        return
    card.drawing_row = card.sheet.next_row
    card.section(f"Drawing of {site}, as designed", whole=True)
    for picture in lines:
        card.sheet.picture(picture)
