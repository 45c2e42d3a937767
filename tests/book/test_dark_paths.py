"""A path that is dark has no rate, in terminal, JSON and book; nor has a branch of it.

Rules of the project: a path that is dark, broken or unfed has no rate. Designs are invented.
"""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import agreement`

import agreement
import compact

import backhaul.api
from backhaul.report.record import record
from backhaul.report.terminal import report

NEAR, FAR = "device t-switch | optic t-p", "optic t-p | device t-switch label=B"
BRANCH = "P2: device t-switch label=B | copper t-cat5e 20m | device t-switch"
#: 9.9 km of 0.4 dB/km at 1310 nm are 4 dB; 30 dB more are above any optic of the cases
LONG = "fiber t-sm 9900m extra_loss_db={}"
DARK = {
    "one strand for two": f"P1: {NEAR} | fiber t-sm 900m strand=1 | {FAR}",
    "multimode fiber": f"P1: {NEAR} | fiber t-om3 900m | {FAR}",
    "plugs of two families": f"P1: {NEAR} | fiber t-cord-lc-sc 2m | connector t-lc | "
    f"fiber t-sm 900m | {FAR}",
    "too much loss": f"P1: {NEAR} | {LONG.format(30)} | {FAR}",
    "copper too long": "P1: device t-switch | copper t-cat5e 150m | device t-switch label=B",
}


def shown(book: agreement.Recalculated, path: str) -> dict[str, object]:
    """Rate, year and verdict of a path in the book; a word or 0 is no rate."""
    keys = {name: f"glance.rate_{name}_mbps.{path}" for name in ("up", "down")}
    found = {name: book.of(key) if book.has(key) else 0 for name, key in keys.items()}
    return found | {"verdict": book.of(f"chain.{path}.verdict")}


@pytest.mark.parametrize("fault", DARK)
def test_no_outlet_gives_a_dark_path_a_rate(fault, tmp_path):
    evaluation = compact.run(tmp_path, f"{DARK[fault]} || {BRANCH}", "demand P2 up_mbps=1")
    paths = {path["path"]: path for path in record(evaluation)["paths"]}
    text = [line for line, _ in report(evaluation, width=400)]
    book = agreement.Recalculated(evaluation)
    for name, path in paths.items():
        assert (path["rate_up_mbps"], path["rate_down_mbps"], path["verdict"]) == (
            None,
            None,
            "fail",
        )
        assert "no rate" in next(line for line in text if line.startswith(f"{name}: "))
        assert shown(book, name) == {"up": 0, "down": 0, "verdict": "fail"}


@pytest.mark.parametrize(("written", "typed"), [(30, 0), (0, 30)])
def test_light_that_is_typed_away_or_back_takes_the_rate_with_it(written, typed, tmp_path):
    def evaluated(loss):
        text = f"P1: {NEAR} | {LONG.format(loss)} | {FAR} || {BRANCH}"
        return compact.run(tmp_path / str(loss), text, "demand P2 up_mbps=1")

    book = agreement.Recalculated(evaluated(written))
    (key,) = (key for key in book.plan.inputs.rows if key.endswith("extra_loss_db"))
    book.type_in({key: typed})
    anew = evaluated(typed)
    for name, served in anew.performance.paths.items():
        rate = served.rate_up_mbps or 0
        wanted = {"up": rate, "down": rate, "verdict": anew.path_verdicts[name]}
        assert shown(book, name) == wanted
    assert book.answer() == anew.verdict


MARSH = Path(__file__).parents[1] / "designs" / "marsh"


def test_the_airtime_of_a_shared_terminal_is_judged_live():
    """Twelve hops take their loads over their rates of one terminal's time, added by hand."""
    design = backhaul.api.read_design(MARSH)
    more = tuple(row._replace(up_mbps=(row.up_mbps or 0) * 4) for row in design.demand)
    evaluation = backhaul.api.evaluate(design._replace(demand=more))
    (short,) = (f for f in evaluation.findings if f.check == "path-rate" and f.unit == "%")
    book = agreement.Recalculated(evaluation)
    key = f"chain.{short.path}.airtime.0"
    assert 100 * book.of(key) == pytest.approx(short.value)
    assert book.of(f"{key}.verdict") == short.severity == "fail"
    assert book.of(f"chain.{short.path}.stated") != "fail"  # nothing is left to be stated
    typed = {
        key: 0.0 for key in book.plan.inputs.rows if "given.demand" in key and "up_mbps" in key
    }
    book.type_in(typed)
    assert book.of(f"{key}.verdict") == "pass"
    assert book.answer() is None  # run again: the hops' modes and years are not followed
