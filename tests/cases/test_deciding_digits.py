"""A figure and its limit never read the same: the digit that decides is shown.

Every finding of every case and design; and, for each figure that can be brought near its limit by
one cell, the design a thousandth and a hundred thousandth beyond it.
"""

import csv
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

import backhaul.api
from backhaul.units import DECIMALS

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.]*\d)")
HOP = (
    "device t-switch-poe site=A | copper t-cat5e 20m | radio t-radio {} frequency_ghz=5.5 "
    "channel_mhz=40 height_m=30 to_height_m=30 {} | copper t-cat5e 20m | device t-switch-poe site=B"
)
SITES = (
    "project region=TEST | site A latitude=45 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200 | "
    "site B latitude=45.03 longitude=5 ground_m=10 rain_rate_mm_h=30 dn1=-200"
)
LIGHT = "device t-switch site=A | optic {0} site=A | fiber {1} {2} site=A to_site=B | optic {0} site=B | device t-switch site=B"
#: check: a design with a hole, its other tables, and the cell from passing to not passing.
NEAR = {
    "copper-reach": ("device t-switch | copper t-cat5e {}m | device t-switch", "", 90, 120),
    "optical-margin": (LIGHT.format("t-p", "t-sm", "{}m"), "", 17000, 18000),
    "optical-margin fails": (LIGHT.format("t-p", "t-sm", "{}m"), "", 23000, 26000),
    "radio-margin": (HOP.format("site=A to_site=B", "extra_loss_db={}"), SITES, 0, 40),
    "radio-margin fails": (HOP.format("site=A to_site=B", "extra_loss_db={}"), SITES, 40, 60),
    "radio-eirp": (HOP.format("site=A to_site=B", "eirp_limit_dbm={}"), SITES, 44, 40),
    "radio-overload": (HOP.format("{}m site=A to_site=B", ""), "", 40, 20),
    "feed-drop": ("device t-supply-48 | feed t-2.5mm2 {}m | device t-load-dc", "", 250, 500),
    "feed-power": ("device t-supply-48 | feed t-2.5mm2 {}m | device t-load-dc", "", 500, 1200),
    "path-rate": (
        "device t-switch | copper t-cat5e 20m | device t-switch",
        "demand P1 up_mbps={}",
        690,
        710,
    ),
    "path-rate fails": (
        "device t-switch | copper t-cat5e 20m | device t-switch",
        "demand P1 up_mbps={}",
        990,
        1010,
    ),
    "receiver-overload": (LIGHT.format("t-hot", "t-sm", "{}m"), "", 30000, 10000),
    "fiber-reach": (LIGHT.format("t-sx", "t-om3", "{}m"), "", 500, 600),
    "fiber-dispersion": (LIGHT.format("t-long", "t-sm", "{}m"), "", 40000, 45000),
    "measured-loss": (
        LIGHT.format("1000base-zx", "os2-12", "9000m measured_db={}"),
        "",
        1.7,
        1.5,
    ),
    "temperature": (
        LIGHT.format("t-p", "t-sm", "100m"),
        "site A ambient_max_c={} | site B ambient_max_c=20",
        30,
        90,
    ),
    "feed-protection": ("device t-mains-16 | feed t-2.5mm2 {}m | device t-load-120", "", 1, 300),
}


def told(finding) -> str | None:
    """What is wrong with a message, None where its figures differ as they do in truth."""
    value, limit = finding.value, finding.limit
    if not all(isinstance(figure, int | float) for figure in (value, limit)):
        return None
    if abs(value - limit) < 2 * 10.0**-DECIMALS:  # figures are compared to so many decimals
        return None
    if finding.unit == "Mb/s":  # a rate may stand in Gb/s
        return None if _rates_differ(finding.message, value, limit) else finding.message
    numbers = [
        (float(text), len(text.partition(".")[2])) for text in NUMBER.findall(finding.message)
    ]
    values = {number for number, digits in numbers if _is_rounding(number, digits, value)}
    limits = {number for number, digits in numbers if _is_rounding(number, digits, limit)}
    if values and limits and values | limits == values & limits:
        return finding.message
    return None


def _is_rounding(number: float, digits: int, figure: float) -> bool:
    return abs(number - figure) <= 0.5 * 10.0**-digits + 1e-9


def _rates_differ(message: str, value: float, limit: float) -> bool:
    unit = {"Mb/s": 1.0, "Gb/s": 1000.0}
    pattern = rf"({NUMBER.pattern})(?: (?:up|down))?(?: / [\d.]+ down)? (Mb/s|Gb/s)"
    rates = [float(figure) * unit[name] for figure, name in re.findall(pattern, message)]
    close = [rate for rate in rates if abs(rate - value) <= 1e-2 * value]
    return not close or len(set(close)) > 1 or abs(value - limit) > 1e-2 * value


def all_cases():
    for file in sorted(HERE.glob("*.csv")):
        with file.open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                yield pytest.param(row, id=f"{file.stem}: {row['case']}")


@pytest.mark.parametrize("row", all_cases())
def test_no_figure_of_a_case_reads_as_its_limit(row, tmp_path):
    evaluation = compact.run(tmp_path, row["segments"], row["others"])
    assert [wrong for finding in evaluation.findings if (wrong := told(finding))] == []


@pytest.mark.parametrize("design", ["demo/reservoir", "demo/estuary", "tests/designs/ferry"])
def test_no_figure_of_a_design_reads_as_its_limit(design):
    evaluation = backhaul.api.evaluate(backhaul.api.read_design(ROOT / design))
    assert [wrong for finding in evaluation.findings if (wrong := told(finding))] == []


@pytest.mark.parametrize("name", NEAR)
def test_just_beyond_a_limit_the_message_shows_it(name, tmp_path):
    """By halving the way between a cell that passes and one that does not."""
    segments, others, good, bad = NEAR[name]
    check, _, fails = name.partition(" ")

    def found(cell: float, folder: str):
        text = f"{cell:.9f}"
        evaluation = compact.run(
            tmp_path / folder, segments.replace("{}", text), others.replace("{}", text)
        )
        found = [
            f for f in evaluation.findings if f.check == check and f.severity in ("fail", "thin")
        ]
        return [f for f in found if f.severity == "fail"] if fails else found

    assert not found(good, "good") and found(bad, "bad")
    seen = 0
    for turn in range(40):
        middle = (good + bad) / 2
        findings = found(middle, str(turn))
        if not findings:
            good = middle
            continue
        bad = middle
        (finding, *_) = findings
        assert told(finding) is None
        gap = abs(finding.value - finding.limit)
        seen += 1e-5 < gap < 1e-2
        if gap <= 1e-5:
            break
    assert seen, "never near the limit"


def test_what_the_test_would_catch():
    from backhaul.findings import Finding

    alike = Finding("radio-margin", "thin", "margin 10.0 dB, 10 dB wanted", value=9.96, limit=10.0)
    assert told(alike) and told(alike._replace(message="margin 9.96 dB, 10 dB wanted")) is None
