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


classes = st.integers(0, 8)


@given(classes, classes, st.floats(30, 57), st.floats(0, 20))
def test_more_voltage_never_grants_less(load, port, source_v, more):
    low, high = poe.assigned_class(
        load_class=load, source_class=port, source_v=np.array([source_v, source_v + more])
    )
    assert low <= high
    if high > 0:
        held_w, *asked_w = (poe.POE_CLASSES[int(n)].source_w for n in (high, port, load))
        assert held_w <= max(asked_w)
        assert source_v + more >= poe.POE_CLASSES[int(high)].source_min_v


def test_demotion_works_only_on_the_real_need():
    """A class 6 load of 22 W works on class 4, one of 40 W does not (IEEE 802.3bt Clause 145)."""
    assigned = poe.assigned_class(load_class=6, source_class=4, source_v=54.0)
    assert assigned == 4


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


def test_when_bundles_matter():
    """NFPA 70 725.144: above 60 W of a source."""
    assert not copper.bundle_matters(source_w=60) and copper.bundle_matters(source_w=60.1)
