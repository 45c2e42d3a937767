"""Which runs get loops, by the rules of the project; counts by hand."""

import pytest
from small_designs import evaluated, line_of, rows


@pytest.mark.parametrize("route", ["", "duct", "indoor"])
@pytest.mark.parametrize("sites", [(), ({"site": "works"}, {"site": "gate"})])
def test_a_run_between_two_sites_has_loops_whatever_is_known_of_them(tmp_path, route, sites):
    """Rules of the project, by hand: 950 m + 5 %, and 10 m at each end unless said to be indoors."""
    lines = (
        "device switch-12-sfp site=works",
        "optic 1000base-lx10 site=works",
        f"fiber os2-12 site=works to_site=gate length_m=950{route and f' route={route}'}",
        "optic 1000base-lx10 site=gate",
        "device switch-12-sfp site=gate",
    )
    line = line_of(evaluated(tmp_path / "d", rows("p", *lines), sites=sites), "os2-12")
    assert line.needed == pytest.approx(997.5 if route == "indoor" else 1017.5)
