"""One bad cell in a good design: the message names the cell, what was found and what to write.

The cells are of our own making; the rules come from the project's contract and rules.
"""

import copy
from datetime import datetime

import pytest

MAY_6 = datetime(2026, 5, 6)
FIBER, SPLICE, HOP, OPTIC = 2, 3, 6, 1

TEXT_CELLS = [
    # row of the segments, column, text, fragments of the message
    (FIBER, "length_m", "96 m", ["length_m: found '96 m'", "number in m", "write 96"]),
    (FIBER, "length_m", "1.2 km", ["'1.2 km'", "write it in m"]),
    (FIBER, "length_m", "1,250", ["'1,250'", "1250 or 1.25"]),
    (FIBER, "length_m", "1,250,000", ["'1,250,000'", "write 1250000"]),
    (FIBER, "length_m", "1.250,5", ["'1.250,5'", "write 1250.5"]),
    (FIBER, "length_m", "1 250", ["'1 250'", "write 1250"]),
    (FIBER, "length_m", "1'250", ["write 1250"]),
    (FIBER, "length_m", "10 %", ["'10 %'", "write 10"]),
    (FIBER, "length_m", "-5", ["'-5'", "from 0 to 1,000,000"]),
    (FIBER, "length_m", "2e6", ["'2e6'", "from 0 to 1,000,000"]),
    (FIBER, "length_m", "nan", ["'nan'", "a number in m"]),
    (FIBER, "length_m", "inf", ["'inf'", "a number in m"]),
    (FIBER, "length_m", "1_000", ["'1_000'", "a number in m"]),
    (FIBER, "length_m", "١٢", ["a number in m"]),
    (FIBER, "length_m", "TRUE", ["'TRUE'", "a number in m"]),
    (FIBER, "length_m", "#REF!", ["the error #REF!", "correct the formula"]),
    (FIBER, "length_m", "#N/A", ["the error #N/A"]),
    (FIBER, "length_m", "6-May", ["the date '6-May'", "format the cell as a number"]),
    (FIBER, "length_m", "n/a", ["'n/a'", "leave the cell blank"]),
    (FIBER, "length_m", "=SUM(A1:A2)", ["the formula", "write its value"]),
    (FIBER, "strand", "6-May", ["the date 6-May", '"5/6" becomes 6 May', "text"]),
    (FIBER, "strand", "06/05/2026", ["the date", '"5/6" becomes 6 May']),
    (FIBER, "strand", "May-06", ["the date"]),
    (FIBER, "strand", "44958", ["the date 2023-02-01", "number 44958", "format the cell as text"]),
    (FIBER, "strand", "36526", ["the date 2000-01-01"]),
    (FIBER, "strand", "73050/1", ["the date 2099-12-31"]),
    (FIBER, "strand", "1-2", ["'1-2'", "write 1/2"]),
    (FIBER, "strand", "1,2", ["'1,2'", "write 1/2"]),
    (FIBER, "strand", "1/1", ["'1' twice"]),
    (FIBER, "label", "2026-05-06", ["label: found the date", "text"]),
    (FIBER, "label", "-", ["'-'", "leave the cell blank"]),
    (FIBER, "part", "os2-21", ["part: found 'os2-21'", "nearest: 'os2-24', 'os2-12'"]),
    (FIBER, "part", "cat6a-out", ["'cat6a-out', a part for copper", "the catalogues for fiber"]),
    (SPLICE, "part", "lc-upc", ["'lc-upc', a part for connector", "for splice"]),
    (SPLICE, "count", "2.5", ["count: found '2.5'", "a whole number"]),
    (SPLICE, "count", "-1", ["from 0 to 1,000"]),
    (SPLICE, "kind", "splise", ["kind: found 'splise'", "nearest: 'splice'"]),
    (SPLICE, "step", "3", ["step 3 of path 'crest' again, first at", "each step once"]),
    (SPLICE, "step", "", ["step: found a blank"]),
    (HOP, "part", "radio60x", ["nearest: 'radio-60'"]),
    (HOP, "height_m", "6m", ["'6m'", "write 6"]),
    (OPTIC, "path", "a,b", ["'a,b'", "write a; b"]),
    (OPTIC, "site", "Wor\nks", ["several lines"]),
    (OPTIC, "site", "x" * 300, ["300 letters", "at most 200"]),
    (OPTIC, "site", "Wor\x07ks", ["cannot be printed"]),
]


def changed(rows, place, column, value):
    rows = copy.deepcopy(rows)
    rows[place][column] = value
    return rows


@pytest.mark.parametrize(("place", "column", "text", "fragments"), TEXT_CELLS)
def test_text_cell_in_csv(tmp_path, forms, problems_of, place, column, text, fragments):
    source = tmp_path / "segments.csv"
    source.write_text(forms.csv_text(changed(forms.segments, place, column, text)), "utf-8")
    message = problems_of(source)
    for fragment in [f"segments.csv:{place + 2} {column}", *fragments]:
        assert fragment in message
    assert len(message.splitlines()) == 1


@pytest.mark.parametrize(("place", "column", "text", "fragments"), TEXT_CELLS)
def test_text_cell_in_workbook(tmp_path, forms, problems_of, place, column, text, fragments):
    if "\x07" in text or text[:1] == "=":
        pytest.skip("a workbook cannot hold this as text")
    rows = changed(forms.segments, place, column, text or None)
    message = problems_of(forms.book(tmp_path / "design.xlsx", {"segments": rows}))
    letter = chr(65 + list(dict.fromkeys(k for r in rows for k in r)).index(column))
    for fragment in [f"segments!{letter}{place + 2}: ", *(f.split(": ", 1)[-1] for f in fragments)]:
        assert fragment in message


def percent(cell):
    cell.number_format = "0.0%"


def month(cell):
    cell.number_format = "d\\-mmm"


def formula(cell):
    cell.value = "=A1*2"


BOOK_CELLS = [
    # row, column, value, change of the cell, fragments
    (FIBER, "strand", MAY_6, None, ["the date 2026-05-06", '"5/6" becomes 6 May']),
    (FIBER, "strand", 46148.0, month, ["the date 2026-05-06", '"5/6" becomes 6 May']),
    (FIBER, "label", MAY_6, None, ["the date 2026-05-06", "format the cell as text"]),
    (FIBER, "part", MAY_6, None, ["the date 2026-05-06"]),
    (HOP, "site", MAY_6, None, ["the date 2026-05-06"]),
    (FIBER, "length_m", MAY_6, None, ["the date 2026-05-06", "format the cell as a number"]),
    (FIBER, "length_m", True, None, ["the logical value TRUE", "a number in m"]),
    (FIBER, "length_m", 0.12, percent, ["'12%'", "write 12 in a cell without a percent format"]),
    (FIBER, "length_m", 1, formula, ["'=A1*2' without a value", "spreadsheet program and save it"]),
    (FIBER, "length_m", -1, None, ["'-1'", "from 0 to"]),
    (FIBER, "site", True, None, ["the logical value TRUE", "a name"]),
    (FIBER, "strand", 1.2, None, ["'1.2'", "write 1/2"]),
    (FIBER, "strand", 44958, None, ["the date 2023-02-01", "number 44958"]),
    (SPLICE, "count", 1.5, None, ["'1.5'", "a whole number"]),
]


@pytest.mark.parametrize(("place", "column", "value", "change", "fragments"), BOOK_CELLS)
def test_cell_in_workbook(tmp_path, forms, problems_of, place, column, value, change, fragments):
    rows = changed(forms.segments, place, column, value)
    number = list(dict.fromkeys(k for r in rows for k in r)).index(column) + 1

    def alter(book):
        if change:
            change(book["segments"].cell(place + 2, number))

    message = problems_of(forms.book(tmp_path / "design.xlsx", {"segments": rows}, alter))
    for fragment in [f"segments!{chr(64 + number)}{place + 2}: ", *fragments]:
        assert fragment in message
    assert len(message.splitlines()) == 1


SETTINGS = [
    (
        "availability_percent",
        "0.999",
        ["'0.999'", "from 50 to 100", "99.9 % is written 99.9", "did you mean 99.9?"],
    ),
    ("availability_percent", "99.9 %", ["write 99.9"]),
    ("radio_margin_db", "10dB", ["write 10"]),
    ("region", "UK", ["'UK'", "region of bands.csv", "CEPT or US"]),
    ("water", "brackish", ["sea or fresh"]),
    ("water_high_m", "12 m", ["write 12"]),
    ("loop", "10", ["the setting 'loop'", "'loop_m'"]),
]


@pytest.mark.parametrize(("setting", "value", "fragments"), SETTINGS)
def test_setting(tmp_path, forms, problems_of, setting, value, fragments):
    tables = {"segments": forms.segments, "project": [{"setting": setting, "value": value}]}
    message = problems_of(forms.folder(tmp_path / "design", tables))
    for fragment in ["project.csv:2", *fragments]:
        assert fragment in message


OTHER_TABLES = [
    (
        "sites",
        [{"site": "Works"}, {"site": "Crest"}],
        "segments.csv:8 to_site: found the site 'Tower'; needed a site of the sites table",
    ),
    (
        "sites",
        [
            {"site": s, "ambient_min_c": 40, "ambient_max_c": 30}
            for s in ("Works", "Crest", "Tower")
        ],
        "sites.csv:2 ambient_min_c",
    ),
    (
        "sites",
        [{"site": s, "latitude": 95, "longitude": 3} for s in ("Works", "Crest", "Tower")],
        "'95'; needed a number in degrees from -90 to 90",
    ),
    (
        "sites",
        [{"site": s, "latitude": 5} for s in ("Works", "Crest", "Tower")],
        "longitude: found a blank beside a latitude",
    ),
    (
        "sites",
        [{"site": s} for s in ("Works", "Crest", "Tower", "Crest")],
        "sites.csv:5 site: found 'Crest' again, first at sites.csv:3 site",
    ),
    ("sites", [{"site": s, "outdoor": "maybe"} for s in ("Works", "Crest", "Tower")], "yes or no"),
    ("paths", [{"path": "crest"}, {"path": "crest"}], "'crest' again, first at paths.csv:2 path"),
    ("paths", [{"path": "crst"}], "nearest: 'crest'"),
    ("paths", [{"path": "the crest"}], "separates two paths"),
    ("paths", [{"path": "crest", "backs_up": "valve"}], "backs_up: found the path 'valve'"),
    ("paths", [{"path": "crest", "backs_up": "crest"}], "another path than the row's own"),
    ("paths", [{"path": "crest", "availability_percent": 0.999}], "did you mean 99.9?"),
    ("demand", [{"path": "tower", "up_mbps": 4}], "demand.csv:2 path: found the path 'tower'"),
    ("terrain", [{"label": "H2", "distance_m": 0, "ground_m": 1}], "nearest: 'H1'"),
    ("terrain", [{"label": "F1", "distance_m": 0, "ground_m": 1}], "'F1', a fiber; needed a radio"),
    ("terrain", [{"path": "crest", "step": 6, "distance_m": 0}], "its hop is step 7"),
    (
        "terrain",
        [{"label": "H1", "distance_m": d, "ground_m": 1} for d in (0, 9, 9)],
        "distances rise",
    ),
    (
        "terrain",
        [{"label": "H1", "distance_m": d, "ground_m": ""} for d in (0, 9)],
        "a blank on land",
    ),
    ("terrain", [{"label": "H1", "distance_m": 0, "ground_m": 3}], "a profile of one point"),
    ("terrain", [{"label": "", "distance_m": 0, "ground_m": 3}], "path and step of the hop, or"),
    (
        "terrain",
        [{"label": "H1", "distance_m": d, "ground_m": 1, "surface": "water"} for d in (0, 9)],
        "land, sea or fresh",
    ),
]


@pytest.mark.parametrize(("table", "rows", "fragment"), OTHER_TABLES)
def test_other_table(tmp_path, forms, problems_of, table, rows, fragment):
    source = forms.folder(tmp_path / "design", {"segments": forms.segments, table: rows})
    assert fragment in problems_of(source)


def test_water_levels_the_wrong_way_round(tmp_path, forms, problems_of):
    project = [{"setting": "water_low_m", "value": 5}, {"setting": "water_high_m", "value": 2}]
    source = forms.folder(tmp_path / "d", {"segments": forms.segments, "project": project})
    assert "project.csv:2 value: found water_low_m 5; needed at most" in problems_of(source)


def test_all_problems_at_once_sorted_by_place(tmp_path, forms, problems_of):
    rows = changed(forms.segments, FIBER, "length_m", "x")
    rows = changed(rows, FIBER, "part", "y")
    rows = changed(rows, OPTIC, "kind", "z")
    tables = {"segments": rows, "paths": [{"path": "q"}], "sites": [{"site": "Works", "dn1": "a"}]}
    where = [
        line.split(": ")[0]
        for line in problems_of(forms.folder(tmp_path / "d", tables)).splitlines()
    ]
    assert where[0] == "sites.csv:2 dn1"
    assert where[-1] == "paths.csv:2 path"
    segments = [place for place in where if place.startswith("segments")]
    assert [place.split(":")[1] for place in segments[:3]] == ["3 kind", "4 to_site", "4 part"]
    assert len(where) == len(set(where))


def test_a_mistyped_site_is_told_once_with_its_places(tmp_path, forms, problems_of):
    """Also where it stands in both columns, and where its row bears a label that others bear."""
    rows = [dict(row) for row in forms.segments]
    ends = [row for row in rows if row.get("to_site") == "Tower" or row.get("site") == "Tower"]
    for row in ends:
        for name in ("site", "to_site"):
            if row.get(name) == "Tower":
                row[name] = "Towr"
    sites = [{"site": site} for site in ("Works", "Crest", "Tower")]
    message = problems_of(forms.folder(tmp_path / "design", {"segments": rows, "sites": sites}))
    assert message.count("'Towr'") == 1
    assert "nearest: 'Tower'" in message and len(message.splitlines()) == 1


LABELLED = """path,step,kind,site,part,label
mast,1,device,Hut,switch-8,switch
gate,1,device,{site},{part},switch
"""


@pytest.mark.parametrize(("site", "part"), [("Hot", "switch-8"), ("Hut", "swich-8")])
def test_what_cannot_be_used_contradicts_nothing(tmp_path, problems_of, site, part):
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "segments.csv").write_text(LABELLED.format(site=site, part=part))
    (tmp_path / "d" / "sites.csv").write_text("site\nHut\n")
    message = problems_of(tmp_path / "d")
    assert len(message.splitlines()) == 1 and "segments.csv:3" in message
