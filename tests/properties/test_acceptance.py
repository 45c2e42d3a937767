"""An acceptance is for one finding, with its figure, and never for what can hurt somebody.

Who may sign what: common practice. A missing earth and a breaker above what the conductors carry
are IEC 60364-4-41 clause 411.3.1 and IEC 60364-4-43 clause 433.1.
"""

import compact
import pytest

WHO = {"by": "A. Engineer", "date": "2026-02-03", "reason": "seen"}
MAINS = "device mains-230v-10a | feed {cable} 200m | device switch-24-1g"
FAR = MAINS.format(cable="1.5mm2-3c")
NO_EARTH = MAINS.format(cable="1.5mm2")
TOO_LARGE = "device rectifier-48v-2kw | feed 0.75mm2 10m | device switch-24-1g-dc"
UNFUSED = "device supply-48v-960w | feed 0.75mm2 10m | device switch-24-1g-dc"


def found(folder, segments, *rows, check="feed-protection"):
    tables = {
        "segments": compact.segments(segments),
        "accepted": [WHO | {"check": check} | row for row in rows],
    }
    evaluation = compact.run_tables(folder, tables)
    return evaluation, [f for f in evaluation.findings if f.check == check]


@pytest.mark.parametrize("segments", [NO_EARTH, TOO_LARGE, UNFUSED])
@pytest.mark.parametrize("unit", ["", "A", "A lasting", "conductors"])
@pytest.mark.parametrize("value", ["", "2", "10", "30", "40"])
def test_what_can_hurt_is_accepted_by_no_row(segments, unit, value, tmp_path):
    evaluation, findings = found(
        tmp_path, segments, {"path": "P1", "step": "2", "unit": unit, "value": value}
    )
    hurts = [f for f in findings if f.unit in ("A lasting", "conductors")]
    assert hurts and not any(f.accepted for f in hurts)
    assert evaluation.verdict in ("fail", "thin")


def test_the_row_is_refused_in_words(tmp_path):
    _, findings = found(tmp_path, UNFUSED, {"path": "P1", "unit": "A lasting", "value": "30"})
    assert any("somebody can be hurt" in f.message and "refused" in f.message for f in findings)


def test_a_breaker_that_a_short_may_not_trip_is_accepted_with_its_unit(tmp_path):
    """0.95 x 230 V over 400 m of 14.5 ohm/km (12.1 at 70 C): 37.7 A on a 10 A breaker."""
    row = {"path": "P1", "step": "2", "value": "37.7"}
    evaluation, findings = found(tmp_path / "unit", FAR, row | {"unit": "A"})
    assert [bool(f.accepted) for f in findings] == [True] and evaluation.verdict == "pass"
    evaluation, findings = found(tmp_path / "blank", FAR, row)
    assert [bool(f.accepted) for f in findings] == [False]
    assert any("names no unit" in f.message for f in evaluation.findings)


TWO = (
    "P1: device t-switch | copper t-cat5e 20m route=buried | device t-switch || "
    "P2: device t-switch | copper t-cat5e 20m route=buried | device t-switch"
)


def test_one_row_is_for_one_finding(tmp_path):
    """Two runs outdoors without protectors: a row without a place answers for neither."""
    _, findings = found(tmp_path / "none", TWO, {}, check="surge")
    assert len(findings) > 1
    evaluation, findings = found(tmp_path / "blank", TWO, {}, check="surge")
    assert not any(f.accepted for f in findings)
    assert any("a row is for one" in f.message for f in evaluation.findings)
    _, findings = found(tmp_path / "one", TWO, {"path": "P1"}, check="surge")
    assert sum(bool(f.accepted) for f in findings) == 1


def test_an_acceptance_without_a_figure_is_told(tmp_path):
    evaluation, findings = found(tmp_path, FAR, {"path": "P1", "unit": "A"})
    assert findings[0].accepted
    assert any("without a figure" in f.message for f in evaluation.findings)
