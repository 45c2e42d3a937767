"""Design -> Evaluation: links, budgets and findings. Pure: no files are read or written."""

from collections.abc import Callable
from typing import Any

from backhaul.budgets.as_built import AsBuilt
from backhaul.budgets.copper import copper_budget
from backhaul.budgets.optical import optical_budget
from backhaul.budgets.performance import performance
from backhaul.budgets.power import power_budget, power_sources
from backhaul.budgets.radio_reuse import HopBudgets
from backhaul.checks import Context, run_checks
from backhaul.checks.results import Results
from backhaul.design.model import Design
from backhaul.errors import InputError
from backhaul.figures.us_units import words_of
from backhaul.findings import PASS
from backhaul.path.branches import find_branches
from backhaul.path.network import build_network
from backhaul.path.placed import place_equipment
from backhaul.path.terrain import refuse_bad_terrain
from backhaul.progress import unwatched
from backhaul.remedies.proof import proved
from backhaul.report.frame import frame


class Evaluation(Results):
    """The single truth about a design: terminal, JSON and workbook are read from it."""

    def frame(self) -> Any:
        """A pandas table of all links, one row a link and direction."""
        return frame(self)


#: What an evaluation does, in turn.
STAGES = ("joining rows", "light", "copper", "power", "air", "rates", "checks", "remedies")


def evaluate(
    design: Design,
    catalog: Any,
    progress: Callable[[str], None] = unwatched,
    *,
    remedies: bool = False,
    seek: bool = True,
) -> Evaluation:
    """Join the rows, budget all links, check everything.

    `progress` is called with each of `STAGES` as it begins. remedies: findings also get the edits
    that settle them, each proved by evaluating the design with them. seek: heights and second
    antennas that would hold a hop are sought, which takes a part of a second a hop.
    Raises InputError where rows cannot be put together: terrain that does not fit its hop,
    paths that begin inside each other.
    """
    evaluator = Evaluator(catalog)
    evaluation = evaluator(design, progress, seek=seek)
    if not remedies or evaluation.verdict == PASS:
        return evaluation
    progress("remedies")
    return Evaluation(evaluation.context, proved(evaluation, evaluator))


class Evaluator:
    """Evaluates designs that differ in little: what a change leaves as it is, is not computed anew.

    >>> from backhaul.api import load_catalog, read_design
    >>> Evaluator(load_catalog())(read_design("demo/reservoir")).verdict
    'thin'
    """

    def __init__(self, catalog: Any):
        self._catalog, self._hops = catalog, HopBudgets(catalog)

    def __call__(
        self,
        design: Design,
        progress: Callable[[str], None] = unwatched,
        *,
        seek: bool = False,
    ) -> Evaluation:
        return _evaluate(design, self._catalog, self._hops, progress, seek=seek)


def _evaluate(
    design: Design,
    catalog: Any,
    hops: HopBudgets,
    progress: Callable[[str], None],
    *,
    seek: bool,
) -> Evaluation:
    """With readings twice: as designed, to which they are held, then as they tell it was built."""
    built = None
    if design.readings:
        from backhaul.as_built.acceptance import accept
        from backhaul.as_built.corrections import corrections, rows_as_built

        # readings are held to figures: nothing of it is checked, no remedy is sought
        designed = Evaluation(_budgeted(design, catalog, hops, progress, seek=False), ())
        built = corrections(accept(designed))
        design = design._replace(segments=rows_as_built(design.segments, built))
    context = _budgeted(design, catalog, hops, progress, seek=seek, built=built)
    progress("checks")
    return Evaluation(*run_checks(context))


def _budgeted(
    design: Design,
    catalog: Any,
    hops: HopBudgets,
    progress: Callable[[str], None],
    *,
    seek: bool,
    built: AsBuilt | None = None,
) -> Context:
    progress("joining rows")
    try:
        network = build_network(design, catalog)
        branches = find_branches(network, design)
        refuse_bad_terrain(network, design)
    except InputError as error:
        raise error.shown(words_of(design)) from None
    progress("light")
    optical = optical_budget(network.links["optical"], catalog, design.project, built)
    progress("copper")
    copper = copper_budget(network, catalog, design)
    progress("power")
    power = power_budget(network, catalog, design)
    progress("air")
    radio = hops.of(network, design, seek_remedies=seek)
    progress("rates")
    served = performance(network, branches, design, catalog, optical, copper, radio)
    return Context(
        design=design,
        catalog=catalog,
        network=network,
        optical=optical,
        copper=copper,
        power=power,
        radio=radio,
        branches=branches,
        performance=served,
        placed=place_equipment(network, design, catalog),
        sources=power_sources(power, network),
        built=built,
    )
