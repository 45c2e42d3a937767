"""PoE grants and copper cords against published tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published_tables import rows

from backhaul.physics import copper, poe


@pytest.mark.parametrize(
    "row", rows("wired/poe_grants.csv"), ids=lambda r: f"class {r['port_class']} {r['source_v']} V"
)
def test_what_a_port_grants(row):
    granted = poe.granted_class(
        source_class=int(row["port_class"]), source_v=float(row["source_v"])
    )
    assert granted == int(row["granted"])


@pytest.mark.parametrize("row", rows("wired/poe_classes.csv"), ids=lambda r: r["poe_class"])
def test_class_powers(row):
    number = int(row["poe_class"])
    assert poe.class_source_w(poe_class=number) == float(row["pse_power_w"])
    assert poe.class_load_w(poe_class=number) == float(row["pd_power_w"])
    assert poe.works_on_class(need_w=float(row["pd_power_w"]) + 0.1, poe_class=number)
    assert not poe.works_on_class(need_w=float(row["pd_power_w"]) + 0.11, poe_class=number)


classes = st.integers(0, 8)


@given(classes, classes, st.floats(30, 57), st.floats(0, 20))
def test_more_voltage_never_grants_less(load, port, source_v, more):
    low, high = poe.assigned_class(
        load_class=load, source_class=port, source_v=np.array([source_v, source_v + more])
    )
    assert low <= high
    if high > 0:
        assert poe.class_source_w(poe_class=high) <= max(
            poe.class_source_w(poe_class=port), poe.class_source_w(poe_class=load)
        )
        assert source_v + more >= poe.POE_CLASSES[int(high)].source_min_v


def test_demotion_works_only_on_the_real_need():
    """A class 6 load of 22 W works on class 4, one of 40 W does not (IEEE 802.3bt Clause 145)."""
    assigned = poe.assigned_class(load_class=6, source_class=4, source_v=54.0)
    assert assigned == 4
    assert list(poe.works_on_class(need_w=[22, 40], poe_class=assigned)) == [True, False]


@pytest.mark.parametrize("row", rows("wired/cord_lengths.csv"), ids=lambda r: r["fixed_m"])
@pytest.mark.parametrize("gauge", [24, 26])
def test_cords(row, gauge):
    """The table is cut to whole metres of the formula; 22 + 5 and 17 + 4 m are its most."""
    computed = copper.cords_limit_m(
        fixed_m=float(row["fixed_m"]),
        cord_derating=copper.CORD_DERATING[gauge],
        cords_max_m=copper.CORDS_MAX_M[gauge],
    )
    assert computed == pytest.approx(float(row[f"cords_{gauge}awg_m"]), abs=0.51)


def test_forty_metres_of_cords_are_too_many():
    limit_m = copper.cords_limit_m(fixed_m=60, cord_derating=0.2, cords_max_m=27.0)
    assert limit_m < 40
    assert copper.cords_limit_m(fixed_m=110, cord_derating=0.2, cords_max_m=27.0) == 0


@given(st.floats(0, 120), st.floats(0, 20))
def test_more_fixed_cable_never_allows_longer_cords(fixed_m, more):
    given_cord = {"cord_derating": 0.2, "cords_max_m": 27.0}
    assert copper.cords_limit_m(fixed_m=fixed_m + more, **given_cord) <= copper.cords_limit_m(
        fixed_m=fixed_m, **given_cord
    )


def test_currents_in_a_bundle():
    """Type 4: 0.96 A a pair set, 0.48 A a conductor, inside 0.75 A (BS 7671 716.523.2.101)."""
    current_a = copper.conductor_current_a(current_a=2 * 0.96, pairs=4)
    assert current_a == pytest.approx(0.48)
    assert current_a < copper.CONDUCTOR_MAX_A
    assert not copper.bundle_matters(source_w=60) and copper.bundle_matters(source_w=60.1)
