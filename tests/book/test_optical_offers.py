"""Offers for every line of light at once: what meets its limits works, all lines together.

The reference is our own evaluation with catalogues in which every part that is to be ordered is
replaced by an offer: each figure somewhere between ours and its limit, or on it. Random, from a
fixed seed. Designs are invented.
"""

import random
from pathlib import Path

import pytest
from edge_offers import limits_of, offered
from small_designs import LIGHT, changed_catalog, evaluated, rows

from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirement import SETTLE_FIRST
from backhaul.budgets.requirements import demands
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import worst

DEMO = Path(__file__).parents[2] / "demo"
_CHECKS = ("optical-margin", "receiver-overload", "fiber-dispersion")
_FILES = {"optics": "optics", "fibers": "fibers", "joints": "joints"}
_RANK = {"pass": 0, "thin": 1, "fail": 2}
_SEED, _DRAWS = 20, 6


def link(optic, *middle, far="", switch="switch-12-sfp"):
    return [
        f"device {switch} site=works label=SW1",
        f"optic {optic} site=works",
        *middle,
        f"optic {far or optic} site=crest",
        f"device {switch} site=crest label=SW2",
    ]


def cable(length, part="os2-12", strand="1/2", **columns):
    more = " ".join(f"{name}={value}" for name, value in columns.items())
    return f"fiber {part} site=works to_site=crest length_m={length} strand={strand} {more}"


PAIRS = ("connector lc-upc", cable(1700, label="C1"), "connector lc-upc")
DESIGNS = {
    "gigabit with splices": LIGHT,
    "form C": link("10gbase-lr", *PAIRS, switch="switch-12-sfp+"),
    "multimode": link("1000base-sx", cable(200, "om3-12"), "connector lc-upc"),
    "pair on one strand": link(
        "1000base-bx10-d",
        "connector lc-upc",
        cable(3000, strand="1", label="C1"),
        far="1000base-bx10-u",
    ),
    "attenuator in a long-haul link": link(
        "1000base-zx", "attenuator attenuator-lc-upc-10", *PAIRS, cable(900, "os2-8")
    ),
    "just healthy": link("1000base-lx10", cable(7500, label="C1")),
    "unlike ends": link("1000base-lx10", *PAIRS, far="1000base-ex"),
    "too long": link("1000base-lx10", cable(9000, label="C2"), *PAIRS),
    "joints that exist": link(
        "1000base-lx10", "connector lc-upc by=existing", cable(3000, "os2-24", label="C1")
    ),
    "spliced on to long haul": link(
        "1000base-ex",
        "splice fusion-splice count=2",
        cable(24000, label="C1"),
        "splice mechanical-splice count=2",
        cable(9000, "os2-24", label="C2"),
        "connector lc-upc count=2",
    ),
}


def limits(evaluation, *, met: bool = False):
    """Figures of each ordered part of light that a budget limits: by file and part.

    met: only those that ours meets.
    """
    found: dict[tuple[str, str], dict[str, tuple[float, float]]] = {}
    for line in order_list(evaluation).lines_by(""):
        for demand in demands(evaluation, line) if line.family in _FILES else ():
            if not demand.needs and demand.field != "max_dispersion_ps_nm":
                continue
            if not isinstance(demand.limit, float | int) or (met and demand.met is False):
                continue
            file = "optic_reach" if demand.field == "channel_loss_max_db" else line.family
            ours = demand.limit if demand.ours is None else demand.ours
            found.setdefault((file, line.part), {})[demand.field] = (ours, demand.limit)
    return found


def has_withheld(evaluation) -> bool:
    """Whether a line of light asks for what no part can meet, so that the design must change."""
    return any(
        demand.limit == SETTLE_FIRST
        for line in order_list(evaluation).lines_by("")
        if line.family in _FILES
        for demand in demands(evaluation, line)
    )


def offers(folder: Path, evaluation, draw, *, met: bool = False) -> tuple[Path, ...]:
    """A catalogue folder for each part, with figures that `draw` picks from (ours, limit)."""
    return tuple(
        changed_catalog(
            folder / f"{number}",
            file,
            part,
            **as_sold({field: round(draw(*pair), 6) for field, pair in fields.items()}, part),
        )
        for number, ((file, part), fields) in enumerate(limits(evaluation, met=met).items())
    )


def as_sold(figures: dict[str, float], part: str) -> dict[str, float]:
    """The typical and the least figure of an offer are ours, but no higher than its highest."""
    catalog, lower = load_catalog(), {}
    for field, figure in figures.items():
        if field.startswith("max_db_km_"):
            nm, record = int(field.rpartition("_")[2]), catalog.fibers[part]
            lower[f"typical_db_km_{nm}"] = min(figure, record.typical_db_km[nm])
            lower[f"min_db_km_{nm}"] = min(figure, record.min_db_km[nm])
        if field == "max_db":
            lower["typical_db"] = min(figure, catalog.joints[part].typical_db)
    return lower | figures


def light_verdict(evaluation) -> str:
    return worst(f.severity for f in evaluation.findings if f.check in _CHECKS)


def told(evaluation) -> list[str]:
    return [f.message for f in evaluation.findings if f.check in _CHECKS]


def on_the_edge(ours: float, limit: float) -> float:
    return limit


def draws():
    source = random.Random(_SEED)
    yield on_the_edge
    for _ in range(_DRAWS):

        def somewhere(ours: float, limit: float) -> float:
            share = source.choice((0.0, 1.0, source.random()))
            figure = ours + (limit - ours) * share
            # rounding must not carry a figure past its limit
            return min(figure, limit) if limit > ours else max(figure, limit)

        yield somewhere


@pytest.mark.parametrize("name", DESIGNS)
def test_offers_that_meet_every_limit_work_together(tmp_path, name):
    design = rows("p", *DESIGNS[name])
    base = evaluated(tmp_path / "d", design)
    assert limits(base)
    better = light_verdict(base) == "pass"
    if has_withheld(base):
        assert not better  # what no part can meet goes to no supplier: the design comes first
        return
    for number, draw in enumerate(draws()):
        if not better and draw is not on_the_edge:
            continue  # ours misses its limits: an offer has to be on them
        (tmp_path / f"{number}").mkdir()
        catalogs = offers(tmp_path / f"{number}", base, draw)
        offered = evaluated(tmp_path / "d", design, catalogs=catalogs)
        assert light_verdict(offered) == "pass", told(offered)


@pytest.mark.parametrize("demo", ["reservoir", "estuary"])
def test_offers_for_a_demo_work_together(tmp_path, demo):
    """Links that hold with our parts hold with every offer that meets its limits."""
    catalog = load_catalog()
    base = evaluate(read_design(DEMO / demo, catalog), catalog)
    places = {finding.where for finding in base.findings if finding.check in _CHECKS}
    for number, draw in enumerate(draws()):
        (tmp_path / f"{number}").mkdir()
        own = load_catalog(offers(tmp_path / f"{number}", base, draw, met=True))
        offered = evaluate(read_design(DEMO / demo, own), own)
        assert {f.where for f in offered.findings if f.check in _CHECKS} <= places


@pytest.mark.parametrize("demo", ["reservoir", "estuary"])
def test_offers_for_all_lines_of_a_demo_work_together(tmp_path, demo):
    """Every line of glass, copper, feeds and devices on its limits, all at once."""
    place, catalog = DEMO / demo, load_catalog(())
    first = evaluate(read_design(place, catalog), catalog)
    light = tmp_path / "light"
    light.mkdir()
    folders = offers(light, first, on_the_edge, met=True)
    own = load_catalog((offered(tmp_path / "wired", limits_of(first)), *folders))
    after = evaluate(read_design(place, own), own)
    before = {path: _RANK[word] for path, word in first.path_verdicts.items()}
    words = {path: _RANK[word] for path, word in after.path_verdicts.items()}
    assert {path: rank for path, rank in words.items() if rank > before[path]} == {}


@pytest.mark.parametrize("name", ["gigabit with splices", "form C", "just healthy"])
def test_a_part_of_ours_meets_its_own_limits(tmp_path, name):
    design = rows("p", *DESIGNS[name])
    base = evaluated(tmp_path / "d", design, project={"optical_margin_db": "0.5"})
    assert light_verdict(base) == "pass"
    for line in order_list(base).lines_by(""):
        if line.family in _FILES:
            missed = [d.what for d in demands(base, line) if d.needs and d.met is False]
            assert not missed, line.part


@pytest.mark.parametrize(
    ("file", "field", "step"),
    [
        ("optics", "launch_min_dbm", -0.2),
        ("optics", "sensitivity_dbm", 0.2),
        ("optics", "penalty_db", 0.2),
        ("fibers", "max_db_km_1310", 0.1),
    ],
)
def test_with_all_lines_on_their_limits_a_step_beyond_is_not_healthy(tmp_path, file, field, step):
    """The limits leave nothing over but what rounding takes."""
    design = rows("p", *link("1000base-lx10", cable(3000, label="C1")))
    base = evaluated(tmp_path / "d", design)

    def beyond(figures, part):
        moved = {f: limit + step * (f == field) for f, (_, limit) in figures.items()}
        return as_sold({f: round(figure, 6) for f, figure in moved.items()}, part)

    (tmp_path / "o").mkdir()
    catalogs = tuple(
        changed_catalog(tmp_path / "o" / f"{n}", name, part, **beyond(figures, part))
        for n, ((name, part), figures) in enumerate(limits(base).items())
    )
    changed = evaluated(tmp_path / "d", design, catalogs=catalogs)
    assert any(field in figures for (name, _), figures in limits(base).items() if name == file)
    healthy = base.optical.values["healthy_margin_db"]
    margins = changed.optical.values["margin_db"]
    assert bool((margins < healthy).any())


def test_limits_of_a_long_haul_optic_refuse_a_short_haul_one(tmp_path):
    """1310 nm is not 1550 nm, though the receiver of the long-haul optic hears both."""
    design = rows("p", *link("1000base-zx", cable(60000, label="C1")))
    base = evaluated(tmp_path / "d", design)
    line = next(ln for ln in order_list(base).lines if ln.part == "1000base-zx")
    said = {demand.what: demand.limit for demand in demands(base, line)}
    assert said["nominal wavelength"].startswith("1550 nm")
    low, high = (float(word) for word in said["transmits"].replace("nm", "").split(" to "))
    assert not low <= 1310 <= high


def test_an_attenuator_is_asked_for_by_its_nominal_value(tmp_path):
    design = rows("p", *DESIGNS["attenuator in a long-haul link"])
    base = evaluated(tmp_path / "d", design)
    line = next(ln for ln in order_list(base).lines if ln.part.startswith("attenuator-"))
    said = {demand.what: demand for demand in demands(base, line)}
    assert said["nominal loss"].limit == 10
    assert said["loss of each, highest"].limit >= 11 and said["loss of each, lowest"].limit <= 9


def test_a_mated_pair_is_held_to_the_standard_besides(tmp_path):
    """TIA-568.3: 0.75 dB a mated pair, however much the margin leaves."""
    design = rows("p", *link("1000base-lx10", "connector lc-upc", cable(100, label="C1")))
    base = evaluated(tmp_path / "d", design)
    line = next(ln for ln in order_list(base).lines if ln.part == "lc-upc")
    limit = {demand.what: demand.limit for demand in demands(base, line)}
    assert limit["loss of each, highest"] == 0.75


JOINTED = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-ex site=works",
    "connector lc-upc",
    "splice fusion-splice{near}",
    "fiber os2-12 site=works to_site=crest length_m=17000 strand={strands} label=C1",
    "splice fusion-splice",
    "connector lc-upc",
    "optic 1000base-ex site=crest",
    "device switch-12-sfp site=crest label=SW2",
)


def work(evaluation) -> dict[str, float]:
    lines = order_list(evaluation).lines_by("")
    return {line.part: line.needed for line in lines if "splice" in line.part}


def of_joints(splices: int) -> dict[str, int]:
    """A sleeve a splice; a closure a joint of cable, with a tray of twelve strands."""
    return {"splice closure": 2, "sleeve-splice-60mm": splices, "tray-splice-12": 2}


@pytest.mark.parametrize(
    ("near", "told"),
    [("", {"fusion-splice": 4, "splice of a joint": 24}), (" count=3", {"fusion-splice": 28})],
)
def test_a_joint_of_cable_takes_every_strand_and_a_closure(tmp_path, near, told):
    """17 km with slack and loops is cut from three reels of 6 km: two joints of twelve strands."""
    lines = [line.format(near=near, strands="1/2") for line in JOINTED]
    assert work(evaluated(tmp_path / "d", rows("p", *lines))) == told | of_joints(
        sum(told.values())
    )


def test_two_links_through_one_cable_share_its_joints(tmp_path):
    segments = []
    for path, strands in (("p", "1/2"), ("q", "3/4")):
        lines = [line.format(near=" count=3", strands=strands) for line in JOINTED]
        segments += rows(path, *lines)
    found = work(evaluated(tmp_path / "d", segments))
    assert found == {"fusion-splice": 2 * 4 + 24} | of_joints(2 * 4 + 24)


def test_two_ends_of_one_kind_are_no_pair(tmp_path):
    design = rows("p", *link("1000base-bx10-u", cable(3000, strand="1", label="C1")))
    assert not order_list(evaluated(tmp_path / "d", design)).pairs
