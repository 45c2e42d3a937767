"""Batteries and panels of unlike sites, each worked by hand in a few lines of its own.

Steps of IEEE 1013 and 1562 as the physics states them: watt-hours of a day, what the cold leaves of a
battery, days without sun, panels at 0.8 x 0.8 of their watts and 1.2 times the day; the longest night by
the sunset equation of textbooks. Sites and loads are invented.
"""

import itertools
import math

import pytest
from small_designs import SITES, changed_catalog, evaluated, rows

from backhaul.budgets.energy import energy_balances

SUN, LOAD_W = "solar-24v-60w", 10.0
DUTY, NIGHT, LATITUDE = (None, 5, 50, 0), (None, 0, 70, 100), (None, 0, 51.5, 70, -45)
KIT = ((600, 50, None), (2400, 80, 0.4), (9600, 57.6, 1.0))
PLACE = ((-40, 0.5), (-5, 3), (25, 8), (20, 0))
#: Out of step with each other.
CASES = list(
    itertools.islice(
        zip(
            itertools.cycle(DUTY),
            itertools.cycle(NIGHT * 3 + NIGHT[1:]),
            itertools.cycle(LATITUDE),
            itertools.cycle(KIT),
            itertools.cycle(PLACE + PLACE[:3]),
            itertools.cycle((0, 3, 3)),
            itertools.cycle((None, 0, 5, 2, 1)),
        ),
        20,
    )
)


def dark_share(latitude):
    if latitude is None:
        return 0.5
    steep = math.tan(math.radians(abs(latitude))) * math.tan(math.radians(23.44))
    return 1 - math.acos(min(1.0, steep)) / math.pi


@pytest.mark.parametrize(("duty", "night", "latitude", "kit", "place", "own_w", "days"), CASES)
def test_by_hand(duty, night, latitude, kit, place, own_w, days, tmp_path):
    battery_wh, use, cold = kit
    coldest, sun = place
    more = {} if cold is None else {"battery_cold_percent_k": cold}
    parts = changed_catalog(
        tmp_path,
        "devices",
        SUN,
        battery_wh=battery_wh,
        battery_use_percent=use,
        watts=own_w,
        **more,
    )
    typed = [
        f"{n}={v}" for n, v in (("duty_percent", duty), ("night_percent", night)) if v is not None
    ]
    design = rows(
        "p",
        f"device {SUN} site=tower label=SUN",
        "feed 2.5mm2-out site=tower to_site=tower length_m=1 route=indoor",
        f"device router-ind site=tower label=LOAD {' '.join(typed)}".rstrip(),
    )
    tower = {"sun_hours": sun, "ambient_min_c": coldest}
    tower |= {
        "latitude": "" if latitude is None else latitude,
        "longitude": "" if latitude is None else 10,
    }
    sites = [site | (tower if site["site"] == "tower" else {}) for site in SITES]
    project = None if days is None else {"autonomy_days": days}
    evaluation = evaluated(tmp_path / "d", design, sites=sites, project=project, catalogs=(parts,))
    (found,) = energy_balances(evaluation.context.sources, evaluation.design, evaluation.power)

    drawn = LOAD_W * (100 if duty is None else duty) / 100
    day_wh = 24 * (drawn + own_w)
    usable_wh = battery_wh * use / 100 * max(0, 1 - (cold or 0) / 100 * max(0, 25 - coldest))
    dark = dark_share(latitude)
    least = max(0, 1 - (1 - dark) / max((100 if duty is None else duty) / 100, 1e-9))
    in_dark = drawn * (dark if night is None else max(night / 100, least)) + own_w * dark
    wanted = max(3 if days is None else days, in_dark / (drawn + own_w) if day_wh else dark)
    carried = usable_wh / day_wh if day_wh else math.inf
    panels = 1.2 * day_wh / (sun * 0.64) if sun else math.inf if day_wh else 0
    line = 0.002  # what the feed of 1 m loses
    assert found.day_wh == pytest.approx(day_wh, rel=line)
    assert found.autonomy_days == pytest.approx(carried, rel=line)
    assert found.wanted_days == pytest.approx(wanted, rel=0.01)
    assert found.panel_needed_w == pytest.approx(panels, rel=line)
    is_short = carried < wanted or panels > 300
    told = [
        f
        for f in evaluation.findings
        if f.check == "supply-reserve" and "days without" in f.message
    ]
    assert bool(told) == is_short
