"""A setting or a water that nothing asks for is noticed, all of them in one note."""

import compact
import pytest

from backhaul.checks.unused import USES
from backhaul.design.settings import SETTINGS
from backhaul.tables.column import NUMBER

LIGHT = "device t-switch | optic t-p | fiber t-sm 1200m | optic t-p | device t-switch"
COPPER = "device t-switch | copper t-cat5e 20m | device t-switch"
HOP = (
    "radio t-radio site=A to_site=B frequency_ghz=5.5 channel_mhz=40 height_m=30 to_height_m=30"
    " length_m=2000"
)

SHORE = "terrain h distance_m=0 ground_m=1 surface=fresh | terrain h distance_m=2000 ground_m=1"


def told(folder, segments, others):
    found = compact.run(folder, segments, others).findings
    return [f for f in found if f.check == "ignored"]


@pytest.mark.parametrize(
    ("segments", "others", "words"),
    [
        (COPPER, "project water_high_m=3 autonomy_days=5", ("water_high_m", "autonomy_days")),
        (COPPER, "project optical_margin_db=3 region=TEST", ("optical_margin_db", "region")),
        (LIGHT, "project sun_rise_c=10 feed_drop_percent=3", ("sun_rise_c", "feed_drop_percent")),
        (HOP, "project water_high_m=3 loop_m=20", ("water_high_m", "loop_m")),
        (COPPER, "project rate_headroom_percent=20", ("rate_headroom_percent",)),
    ],
)
def test_what_nothing_uses_is_one_note(tmp_path, segments, others, words):
    (note,) = told(tmp_path, segments, others)
    assert note.severity == "note" and note.where.startswith("project.csv:2")
    assert all(word in note.message for word in words)


@pytest.mark.parametrize(
    ("segments", "others"),
    [
        (f"{HOP} surface=sea", "project water_high_m=3 water_low_m=1"),
        (f"{HOP} surface=water", "project water_high_m=3 water=fresh"),
        (
            f"{HOP} label=h",
            f"project water_high_m=3 radio_margin_db=12 region=TEST | {SHORE}",
        ),
        (LIGHT, "project optical_margin_db=3 loop_m=20 cage_rise_c=10 spare_percent=0"),
        (COPPER, "project rate_headroom_percent=20 | demand P1 up_mbps=1"),
    ],
)
def test_what_is_used_is_not_told(tmp_path, segments, others):
    assert told(tmp_path, segments, others) == []


@pytest.mark.parametrize(
    ("segments", "words"),
    [
        (COPPER, "(no radio hop)"),
        (HOP, "no hop is marked as over water: reflection NOT judged"),
        (f"{HOP} surface=bay", "every water under a hop has a row of its own"),
    ],
)
def test_levels_that_no_hop_asks_for_say_what_is_not_judged(tmp_path, segments, words):
    bay = " | waters bay kind=sea low_m=0 high_m=2" if "bay" in segments else ""
    (note,) = told(tmp_path, segments, f"project water_high_m=3{bay}")
    assert words in note.message


def test_every_setting_that_is_a_figure_is_asked_for_by_something():
    """A new setting says what uses it, or stands here with the reason why all designs do."""
    always = {"availability_percent", "spare_percent", "cable_slack_percent"}
    named = {name for use in USES for name in use.settings}
    figures = {column.name for column in SETTINGS if column.type == NUMBER}
    assert figures - always <= named
