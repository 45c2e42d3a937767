"""A drawing as the bytes of one file: svg, pdf or png."""

import io
import warnings
from collections.abc import Callable, Iterable, Sequence

from backhaul.checks.results import Results
from backhaul.drawing.figure import LETTERS, figure_of, library
from backhaul.drawing.page import Letters, Page
from backhaul.drawing.sheets import (
    FOOT,
    MARGIN,
    PAPERS,
    draw_sheet,
    path_sheets,
    path_table,
    title_block,
)
from backhaul.drawing.sites_drawing import SitesSheet, draw_sites, site_sheets
from backhaul.errors import InputError, OutputError, Problem
from backhaul.path.network import Network
from backhaul.progress import unwatched
from backhaul.spreadsheet.shapes import MM_PER_INCH, PT_PER_INCH
from backhaul.tables.names import listed, shown

FORMS = ("svg", "pdf", "png")
#: Margins of a sheet of sites [mm]: left, above, right, below with the title block.
_FRAME = (MARGIN + 2, MARGIN + 2, MARGIN + 2, MARGIN + FOOT)
_DPI, _WHITE, _COMPRESS = 150, 255, 3
#: Height of a picture: of A3 sheets a quarter of a gigabyte, and most image programs still open it.
MOST_PIXELS = 24_000
#: The same bytes for the same design.
_SETTINGS = {"svg.fonttype": "path", "pdf.fonttype": 42, "svg.hashsalt": "backhaul"}


def form_of(name: str) -> str:
    """The form that the name of a file asks for. Raises OutputError for any other."""
    form = name.rpartition(".")[2].lower()
    if form not in FORMS:
        raise OutputError(f"{name}: a drawing is .svg, .pdf or .png")
    return form


def drawing_bytes(
    evaluation: Results,
    form: str,
    *,
    paper: str = "a3",
    paths: Sequence[str] = (),
    progress: Callable[[str], None] = unwatched,
) -> bytes:
    """The design by its sites, then each path; of `paths` only those.

    form: svg, pdf or png. A pdf has a page a sheet; in the others the sheets stand one below the
    other. paper: a4 or a3. Raises InputError for a path that is not there, OutputError without the
    library.
    """
    mpl, letters = library(), LETTERS.of(evaluation.design)
    wanted = _in_order(evaluation, _known(evaluation.network, paths))
    width, height = PAPERS[paper]
    overview = [] if paths else site_sheets(evaluation, (width, height), _FRAME)
    sheets = path_sheets(evaluation, wanted, paper, letters=letters, before=1 + len(overview))
    of = len(sheets) + len(overview)
    pages: list[Page] = []
    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of letters that the font has not
        for number, plan in enumerate(overview, 1):
            page = _sites_page(evaluation, plan, letters, number=number, of=len(overview))
            title_block(page, evaluation, number=number, of=of, what="The design by its sites")
            pages.append(page)
        for number, sheet in enumerate(sheets, 1 + len(overview)):
            page = Page(width, height, letters)
            draw_sheet(evaluation, sheet, page)
            names = list(dict.fromkeys(placed.strip.path for placed in sheet))
            title_block(page, evaluation, number=number, of=of, what=f"Paths: {', '.join(names)}")
            pages.append(page)
        return _WRITERS[form](pages)


def _sites_page(
    evaluation: Results, sheet: SitesSheet, letters: Letters, *, number: int, of: int
) -> Page:
    """A sheet of the design by its sites; the last one also lists the paths."""
    page = Page(sheet.width, sheet.height, letters)
    draw_sites(page, sheet, right=MARGIN + 2)
    if number == of:
        path_table(page, evaluation, sheet.bottom + 12)
    return page


def _known(network: Network, paths: Sequence[str]) -> list[str]:
    unknown = [name for name in paths if name not in network.chains]
    if unknown:
        needed = f"a path of the design: {listed(network.chains)}"
        raise InputError([Problem("--path", shown(name), needed) for name in unknown])
    return list(paths) or list(network.chains)


def _in_order(evaluation: Results, paths: Iterable[str]) -> list[str]:
    """Roots, whose branches are drawn with them; power after the first path that it feeds."""
    paths = list(paths)
    parent, network = evaluation.branches.parent, evaluation.network
    roots = [path for path in paths if parent.get(path) not in paths]
    data = [path for path in roots if network.carries_data(path)]
    power = [path for path in roots if path not in data]
    ordered = []
    for path in data:
        ordered.append(path)
        things = {
            row.label
            for each in (path, *evaluation.branches.below(path))
            for row in network.chains[each].rows
        } - {None}
        feeding = [p for p in power if things & {row.label for row in network.chains[p].rows}]
        ordered += feeding
        power = [p for p in power if p not in feeding]
    return [*ordered, *power]


def _pdf(pages: Sequence[Page]) -> bytes:
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    with PdfPages(
        out, metadata={"Creator": "backhaul", "Producer": None, "CreationDate": None}
    ) as book:
        for page in pages:
            book.savefig(figure_of(page))
    return out.getvalue()


def _png(pages: Sequence[Page]) -> bytes:
    """The sheets one below the other. Raises OutputError for more than image programs open."""
    import numpy as np
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.image import imsave

    high = sum(_pixels(page.height) for page in pages)
    if high > MOST_PIXELS:
        raise OutputError(
            f"a .png of {len(pages)} sheets would be {high:,} pixels high, at most {MOST_PIXELS:,} "
            "are drawn; take .pdf, or draw some paths with --path"
        )
    widest = max(_pixels(page.width) for page in pages)
    picture = np.full((high, widest, 4), _WHITE, dtype=np.uint8)
    top = 0
    for page in pages:
        figure = figure_of(page)
        figure.set_dpi(_DPI)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        drawn = np.asarray(canvas.buffer_rgba())
        picture[top : top + drawn.shape[0], : drawn.shape[1]] = drawn
        top += drawn.shape[0]
    out = io.BytesIO()
    imsave(
        out,
        picture,
        format="png",
        dpi=_DPI,
        metadata={"Software": "backhaul"},
        pil_kwargs={"compress_level": _COMPRESS},
    )
    return out.getvalue()


def _pixels(size_mm: float) -> int:
    return int(size_mm / MM_PER_INCH * _DPI)


def _svg(pages: Sequence[Page]) -> bytes:
    """One picture; the sheets stand one below the other."""
    import re

    bodies, y = [], 0.0
    for number, page in enumerate(pages):
        out = io.StringIO()
        figure_of(page).savefig(out, format="svg", metadata={"Date": None, "Creator": "backhaul"})
        text = out.getvalue()
        if len(pages) == 1:
            return text.encode()
        inner = text[text.index(">", text.index("<svg")) + 1 : text.rindex("</svg>")]
        # names of one sheet must not meet those of another
        inner = re.sub(r'(id="|url\(#|href="#)', rf"\1s{number}-", inner)
        high = page.height * PT_PER_INCH / MM_PER_INCH
        bodies.append(f'<g transform="translate(0 {y:.3f})">{inner}</g>')
        y += high
    width = max(page.width for page in pages) * PT_PER_INCH / MM_PER_INCH
    head = (
        '<?xml version="1.0" encoding="utf-8" standalone="no"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{width:.3f}pt" height="{y:.3f}pt" viewBox="0 0 {width:.3f} {y:.3f}" version="1.1">\n'
    )
    return (head + "\n".join(bodies) + "\n</svg>\n").encode()


_WRITERS: dict[str, Callable[[Sequence[Page]], bytes]] = {"pdf": _pdf, "png": _png, "svg": _svg}
