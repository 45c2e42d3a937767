"""Constants of the project that no single finding shows, by cases just inside and just outside."""

import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.budgets.orders import is_cord
from backhaul.checks.radio import _more_margin
from backhaul.figures import verdicts
from backhaul.path.routes import is_one_building


def test_light_takes_4_9_us_a_km(tmp_path):
    """Data sheets of G.652 fiber: group index 1.467 to 1.468; the speed of light is exact. A
    fiber without its own index has the usual one."""
    text = "P: device t-switch | optic t-p | fiber t-sm-plain {}m | optic t-p | device t-switch"
    near, far = (
        compact.run(tmp_path / str(metres), text.format(metres)).performance.paths["P"].latency_us
        for metres in (1000, 11000)
    )
    assert far - near == pytest.approx(10 * 1.468 / 0.299792458, rel=1e-3)


def test_what_a_device_passes_on_costs_15_percent_where_nothing_is_stated(tmp_path):
    """Converters give 85 to 95 % of what they take (common practice): 10 W of its own and a camera's
    10 W, which a metre of cable hardly adds to, make 10 + 10 / 0.85 = 21.8 W."""
    found = compact.run(
        tmp_path,
        "device t-supply-48 | feed t-2.5mm2 1m | device t-switch-dc-plain | copper t-cat5e 1m |"
        " device t-camera",
    )
    (feed,) = (line for line in found.power.lines if not line.is_poe)
    assert feed.values["load_w"] == pytest.approx(10 + 10 / 0.85, abs=0.02)


HOP = (
    "P: device t-switch-poe site=A | copper t-cat5e 20m | radio t-radio 3000m site=A to_site=B"
    " frequency_ghz=5.5 channel_mhz=40 height_m=30 to_height_m=30 | copper t-cat5e 20m |"
    " device t-switch-poe site=B"
)


def test_a_shared_channel_without_a_demand_is_shared_evenly(tmp_path):
    """Common practice: a time-division radio is set to half and half where nothing is known."""
    served = compact.run(tmp_path, HOP).performance.paths["P"]
    assert served.rate_up_mbps == served.rate_down_mbps > 0


@pytest.mark.parametrize(("lost_db", "first"), [(5.9, "gain 20.0 dB"), (6.1, "clear the ray")])
def test_an_obstacle_of_6_db_is_mended_first(lost_db, first):
    """A fade margin short by 20 dB: rules of the project."""
    nothing = np.array([0.0])
    values = {
        "diffraction_loss_db": np.array([lost_db]),
        "reflection_loss_db": nothing,
        "pointing_loss_db": nothing,
        "noise_rise_db": nothing,
        "typed_noise_rise_db": nothing,
    }
    assert _more_margin(SimpleNamespace(values=values), 0, 20.0).startswith(first)


def test_without_a_gradient_the_hop_is_taken_as_one_of_the_worst_places(tmp_path):
    """-400 N/km, near the least of the map of ITU-R P.453 (from memory), never a milder one."""
    sites = "project region=TEST | site A rain_rate_mm_h=30{0} | site B rain_rate_mm_h=30{0}"
    shares = [
        compact.run(
            tmp_path / str(n), HOP.replace("3000m", "30000m"), sites.format(dn1)
        ).performance.hops.carried_percent.tolist()
        for n, dn1 in enumerate((" dn1=-400", "", " dn1=-200"))
    ]
    assert shares[0] == shares[1] != shares[2]


@pytest.mark.parametrize(("longest_m", "is_one"), [(30.0, True), (30.1, False)])
def test_a_cord_is_sold_in_short_pieces(longest_m, is_one):
    """Patch cords end at 30 m (common practice); longer pieces are cable."""
    assert is_cord(SimpleNamespace(order_lengths_m=(2.0, longest_m))) == is_one


@pytest.mark.parametrize(("length_m", "is_one"), [(5.0, True), (5.01, False)])
def test_rooms_of_one_building_are_up_to_5_m_apart(length_m, is_one):
    """Rules of the project: a cable so short joins two rooms, a longer one two buildings."""
    room = SimpleNamespace(outdoor=False, latitude=None, longitude=None)
    assert is_one_building(SimpleNamespace(length_m=length_m), [room, room]) == is_one


@pytest.mark.parametrize(
    ("verdict", "figures", "word"),
    [
        (verdicts.at_least, {"value": 42.5, "limit": 42.5}, "pass"),
        (verdicts.at_least, {"value": 42.499, "limit": 42.5}, "fail"),
        (verdicts.at_most, {"value": 6.0, "limit": 6.0}, "pass"),
        (verdicts.at_most, {"value": 6.001, "limit": 6.0}, "fail"),
        (verdicts.thin_above, {"value": 5.0, "limit": 5.0}, "pass"),
        (verdicts.thin_above, {"value": 5.001, "limit": 5.0}, "thin"),
        (verdicts.margin_verdict, {"margin": 2.0, "healthy": 2.0}, "pass"),
        (verdicts.margin_verdict, {"margin": 0.0, "healthy": 2.0}, "thin"),
        (verdicts.margin_verdict, {"margin": -0.001, "healthy": 2.0}, "fail"),
    ],
)
def test_the_limit_itself_holds(verdict, figures, word):
    """Rules of the project: what just meets a limit meets it."""
    assert verdict(**figures) == word
