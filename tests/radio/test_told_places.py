"""A place on a hop is told as the reader of the terrain table finds it there.

Distances of the table are fitted to the length by coordinates, and cover holds up to the next row.
The design is invented: 1183 m between its sites, whose table was paced at 1173 m; more than 1 % is
refused.
"""

import pytest
from small_designs import evaluated
from small_hops import hop


def clearance(folder, terrain) -> str:
    rows = [{"label": "H1"} | {name: str(value) for name, value in row.items()} for row in terrain]
    evaluation = evaluated(folder, hop(), terrain=rows)
    return next(f.message for f in evaluation.findings if f.check == "radio-clearance")


def paced(at_m: float, **row: float):
    """Rows that end at 1173 m, where the sites lie 1183 m apart."""
    return [
        {"distance_m": 0, "ground_m": 106},
        {"distance_m": at_m, "ground_m": 100, **row},
        {"distance_m": at_m + 100, "ground_m": 100},
        {"distance_m": 1173, "ground_m": 106},
    ]


def test_cover_names_its_row_and_where_it_ends(tmp_path):
    said = clearance(tmp_path, paced(800, cover_m=20))
    assert "cover (trees, buildings) of 20 m" in said
    assert "(terrain row 800 m, which holds up to 900 m)" in said


def test_ground_is_told_by_both_distances_where_they_differ(tmp_path):
    terrain = paced(800)
    terrain[1]["ground_m"] = 130
    said = clearance(tmp_path, terrain)
    assert "(800 m in terrain, whose rows end at 1173 m)" in said
    assert "0.81 km from crest" in said  # 800 × 1183 / 1173 = 807 m


@pytest.mark.parametrize(("end_m", "both"), [(1183, False), (1174, True)])
def test_a_table_as_long_as_the_hop_is_told_once(tmp_path, end_m, both):
    terrain = paced(800)
    terrain[1]["ground_m"], terrain[-1]["distance_m"] = 130, end_m
    assert ("in terrain, whose rows end" in clearance(tmp_path, terrain)) == both
