"""A design with other figures passes the checks that a file would, and a label is one thing."""

import pytest

from backhaul.design.read import read_design
from backhaul.errors import InputError

SEGMENTS = """path,step,kind,part,to_part,site,to_site,length_m,height_m,to_height_m,strand,channel_mhz,polarization,label
a,1,fiber,os2-12,,A,B,100,,,1,,,C1
b,1,fiber,os2-12,,B,A,100,,,2,,,C1
a,2,radio,radio-60,,B,C,,4,9,,20,V,hop
b,2,radio,radio-60,,C,B,,9,4,,20,V,hop
c,1,radio,radio-60,,C,,,,,,,,hop
c,2,device,camera,,C,,,,,,,,
"""


@pytest.fixture
def design(tmp_path, catalog):
    (tmp_path / "segments.csv").write_text(SEGMENTS)
    (tmp_path / "sites.csv").write_text("site\nA\nB\nC\n")
    return read_design(tmp_path, catalog)


def rows(design):
    return {(row.path[0], row.step): row for row in design.segments}


def test_a_cable_changes_wherever_it_stands(design):
    after = rows(design.changed("a", 1, length_m=250))
    assert after["a", 1].length_m == after["b", 1].length_m == 250
    assert after["a", 2] == rows(design)["a", 2]


def test_an_end_changes_where_it_is(design):
    """Written from the other end, the near height is the far one."""
    after = rows(design.changed("a", 2, height_m=6))
    assert (after["a", 2].height_m, after["a", 2].to_height_m) == (6, 9)
    assert (after["b", 2].height_m, after["b", 2].to_height_m) == (9, 6)
    assert rows(design.changed("b", 2, height_m=6))["a", 2].to_height_m == 6


def test_a_strand_is_the_rows_own(design):
    after = rows(design.changed("a", 1, strand="3/4"))
    assert after["a", 1].strand == ("3", "4")
    assert after["b", 1].strand == ("2",)
    assert rows(design.changed("a", 1, strand=("5",)))["a", 1].strand == ("5",)


def test_values_are_as_a_file_would_give_them(design, catalog):
    assert rows(design.changed("a", 2, polarization="vertical"))["b", 2].polarization == "V"
    assert rows(design.changed("a", 1, length_m="12,5"))["a", 1].length_m == 12.5
    assert rows(design.changed("a", 1, length_m=None))["a", 1].length_m is None
    assert rows(design.changed("a", 1, catalog, part="OS2 24"))["b", 1].part == "os2-24"
    assert isinstance(rows(design.changed("a", 1, length_m=5))["a", 1].length_m, float)


@pytest.mark.parametrize(
    ("path", "step", "columns", "message"),
    [
        ("a", 1, {"length_m": -5}, "found '-5'; needed a number in m from 0"),
        ("a", 1, {"length_m": "far"}, "found 'far'"),
        ("a", 2, {"channel_mhz": 0}, "found '0'; needed a number in MHz from 0.1"),
        ("a", 2, {"channel_mhz": float("nan")}, "found 'nan'"),
        ("a", 2, {"channel_mhz": float("inf")}, "found 'inf'"),
        ("a", 2, {"polarization": "left"}, "needed V, H or VH"),
        ("a", 1, {"site": "D"}, "found the site 'D'"),
        ("a", 1, {"part": "os2-13"}, "found 'os2-13'"),
        ("a", 1, {"part": None}, "found a blank"),
        ("a", 1, {"kind": "fibre optic"}, "needed device"),
        ("a", 1, {"height_m": 3}, "needed a column that the kind fiber reads"),
        ("a", 1, {"colour": 3}, "needed one of segments"),
        ("a", 1, {"label": "hop"}, "one label for one thing"),
        ("c", 1, {"site": "A"}, "one of its ends"),
    ],
)
def test_what_a_file_could_not_hold_is_refused(path, step, columns, message, design, catalog):
    with pytest.raises(InputError) as caught:
        design.changed(path, step, catalog, **columns)
    assert message in str(caught.value)


def test_a_step_that_is_not_there(design):
    with pytest.raises(KeyError, match="path a has no step 9"):
        design.changed("a", 9, length_m=1)


def test_a_changed_design_is_the_one_that_a_file_would_give(design, tmp_path, catalog):
    (tmp_path / "segments.csv").write_text(
        SEGMENTS.replace(",4,9,,20", ",5,9,,40").replace(",9,4,,20", ",9,5,,40")
    )
    assert design.changed("a", 2, height_m=5, channel_mhz=40).segments == (
        read_design(tmp_path, catalog).segments
    )


def test_without_a_catalogue_a_part_is_one_of_the_design(design):
    used = rows(design)["a", 1].part
    assert rows(design.changed("a", 1, part=used))["a", 1].part == used
    with pytest.raises(InputError, match="'os2-25'; needed a part that the design has"):
        design.changed("a", 1, part="os2-25")


@pytest.mark.parametrize("blank", ["", "  ", None])
def test_a_blank_part_is_refused(blank, design, catalog):
    with pytest.raises(InputError, match="found a blank"):
        design.changed("a", 1, catalog, part=blank)
