"""Yellow cells of demand, project and paths: typed over is what a new evaluation gives."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import agreement`

import agreement
import compact

import backhaul.api
from backhaul.findings import worst

ROOT = Path(__file__).parents[2]
CASES = ("tests/designs/ski-lift", "tests/designs/ferry")
#: Settings that a path's rate and year hang on; the others have their own sheets.
SETTINGS = ("radio_margin_db", "availability_percent", "rate_headroom_percent")
#: Live verdicts of a path, by the check whose findings they show.
LIVE = {
    "path-rate": ("verdict.up", "verdict.down"),
    "path-availability": ("availability_verdict",),
}
FIGURES = {
    "rate.up": "rate_up_mbps",
    "rate.down": "rate_down_mbps",
    "demand.up": "demand_up_mbps",
    "availability_percent": "availability_percent",
    "latency_us": "latency_us",
}
SHARED = (
    "A: device t-switch label=S | copper t-cat5e 20m label=C | device t-switch label=D"
    " || B: device t-switch label=S | copper t-cat5e 20m label=C | device t-switch label=D"
)


def two_paths(folder, up_a: float, up_b: float):
    return compact.run(folder, SHARED, f"demand A up_mbps={up_a} | demand B up_mbps={up_b}")


@pytest.mark.parametrize(("up", "word"), [(300.0, "pass"), (350.1, "thin"), (500.1, "fail")])
def test_two_paths_on_one_link_are_judged_by_their_sum(tmp_path, up, word):
    """1 Gb/s with 30 % headroom: 700 Mb/s together, by addition."""
    book = agreement.Recalculated(two_paths(tmp_path, 300.0, 300.0))
    keys = [key for key in book.plan.inputs.rows if key.startswith("given.demand")]
    typed = {key: up for key in keys if "up_mbps" in key}
    assert len(typed) == 2
    book.type_in(typed)
    anew = two_paths(tmp_path / "anew", up, up)
    words = {path: book.of(f"chain.{path}.verdict") for path in ("A", "B")}
    assert words == {"A": word, "B": word} == anew.path_verdicts
    assert book.answer() == anew.verdict == word


def test_an_error_in_a_cell_never_ends_as_an_order(tmp_path):
    """A word where a figure is wanted: errors run through to the first sheet."""
    book = agreement.Recalculated(two_paths(tmp_path, 300.0, 300.0))
    assert book.answer() == "pass"
    for key in book.plan.inputs.rows:
        if "demand" in key or "headroom" in key:
            assert book.type_in({key: "abc"}).answer() == "fail", key


def changed(design, key: str, value: float):
    """The design with another figure in the cell that a yellow cell stands for."""
    _, group, *rest = key.split(".")
    if group == "project":
        project = design.project._replace(
            **{rest[0]: value}, typed=design.project.typed | {rest[0]}
        )
        return design._replace(project=project)
    if group == "path":
        path, column = ".".join(rest[:-1]), rest[-1]
        rows = {**design.paths, path: design.paths[path]._replace(**{column: value})}
        return design._replace(paths=rows)
    number, column = int(rest[0]), rest[-1]
    rows = tuple(
        row._replace(**{column: value}) if row.row == number else row for row in design.demand
    )
    return design._replace(demand=rows)


def yellow_cells(book: agreement.Recalculated) -> list[tuple[str, float]]:
    return [
        (key, given.value)
        for key, given in book.plan.inputs.rows.items()
        if key.startswith(("given.demand.", "given.path."))
        or (key.startswith("given.project.") and key.endswith(SETTINGS))
    ]


def other(number: int, key: str, value: float) -> float:
    """Another value of a cell: much more, much less by turns."""
    if key.endswith("availability_percent"):
        return 99.99999
    return value * 2.5 + 1 if number % 2 else value / 10


@pytest.mark.parametrize("name", CASES)
def test_every_yellow_cell_of_demand_project_and_path(name):
    """The recalculated book says of every path what a new evaluation says."""
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(ROOT / name))
    book = agreement.Recalculated(evaluation)
    cells = yellow_cells(book)
    assert len(cells) >= 10
    for number, (key, value) in enumerate(cells):
        figure = other(number, key, value)
        book.type_in({key: figure})
        anew = backhaul.api.evaluate(changed(evaluation.design, key, figure))
        for path in anew.network.chains:
            assert_path_is(book, anew, path, f"{key} = {figure}: {path}")


def assert_path_is(book: agreement.Recalculated, anew, path: str, where: str) -> None:
    served = anew.performance.paths[path]
    for name, attribute in FIGURES.items():
        key, value = f"chain.{path}.{name}", getattr(served, attribute)
        if book.has(key) and value is not None:
            assert book.of(key) == pytest.approx(value), where
    found = anew.findings_in.get(path, ())
    for check, cells in LIVE.items():
        keys = [f"chain.{path}.{cell}" for cell in cells]
        words = [str(book.of(key)) for key in keys if book.has(key)]
        if words and not served.is_stopped:
            expected = worst(finding.verdict for finding in found if finding.check == check)
            assert set(words) <= {"pass", "thin", "fail"}
            assert worst(words) == expected, f"{where}: {check}"


#: 10 km of glass and a hop of 6 km with radios of 500 us: 48.97 + 20.02 + 500 us by hand, with
#: c = 299.792458 km/ms, an index of 1.468 and of air 1.000315 (ITU-R P.453).
DELAYED = (
    "P: device t-switch site=A | optic t-p | fiber t-sm 10000m | optic t-p | device t-switch-poe site=B"
    " | copper t-cat5e 20m"
    " | radio t-radio site=B to_site=C length_m=6000 height_m=30 to_height_m=30 frequency_ghz=5.6"
    " channel_mhz=40 label=H | copper t-cat5e 20m | device t-switch-poe site=C"
)
C_KM_PER_US = 0.299792458


def test_the_delay_of_a_path_follows_lengths_indices_and_radios(tmp_path):
    """Definition: length times index over the speed of light, and what the radios state."""
    evaluation = compact.run(tmp_path, DELAYED)
    book = agreement.Recalculated(evaluation)
    key, air = "chain.P.latency_us", 6 * 1.000315 / C_KM_PER_US
    glass, radios = 10 * 1.468 / C_KM_PER_US, evaluation.catalog.radios["t-radio"].latency_us or 0.0
    served = evaluation.performance.paths["P"]
    assert book.of(key) == pytest.approx(glass + air + radios) == pytest.approx(served.latency_us)
    rows = book.plan.inputs.rows
    length = next(k for k in rows if k.endswith("length_m") and rows[k].value == 10000)
    for given, value, wanted in (
        (length, 20_000.0, 2 * glass + air + radios),
        ("given.fibers.t-sm.group_index", 1.5, 10 * 1.5 / C_KM_PER_US + air + radios),
        ("given.radios.t-radio.latency_us", 900.0, glass + air + 900.0),
    ):
        typed = book.type_in({book.plan.inputs.key_on_sheet(given): value})
        assert typed.of(key) == pytest.approx(wanted), given
        assert typed.of("glance.latency_us.P") == pytest.approx(wanted), given
        if given != length:  # no verdict hangs on them
            assert typed.of("glance.answer") == book.stored_cell(*book.place("glance.answer"))
