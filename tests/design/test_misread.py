"""What looks like one figure and may be another: it is refused or asked, never guessed."""

import pytest

from backhaul.design.model import Design
from backhaul.design.read import read_design
from backhaul.errors import InputError

HEADS = "path,step,kind,part,length_m,measured_db,label,note"
FIBER = {"path": "a", "step": "1", "kind": "fiber", "part": "os2-12"}


def csv_of(cells: dict, separator: str = ",", more: str = "") -> str:
    heads = [*FIBER, "length_m", "measured_db", "label", "note"]
    row = [{**FIBER, **cells}.get(head, "") for head in heads]
    return separator.join(heads) + "\n" + separator.join(row) + more + "\n"


@pytest.fixture
def read(tmp_path, catalog):
    def one(text: str, name: str = "segments.csv") -> Design:
        (tmp_path / name).write_text(text, encoding="utf-8")
        return read_design(tmp_path / name, catalog)

    return one


def refused(read, text: str) -> str:
    with pytest.raises(InputError) as caught:
        read(text)
    return str(caught.value)


@pytest.mark.parametrize(
    "row",
    [
        "a,1,fiber,os2-12,100,6,9,C1,pulled",  # 6,9 dB: the note falls off the edge
        "a,1,fiber,os2-12,100,6,9,C1,",  # the same with a blank note
        "a,1,fiber,os2-12,12,5,0.4,C1,",
        "a,1,fiber,os2-12,-12,5,,C1,x",
        "a,1,fiber,os2-12,100,,C1,note,more",
    ],
)
def test_a_row_with_more_cells_than_heads_is_refused(row, read):
    message = refused(read, f"{HEADS}\n{row}\na,2,splice,fusion,,,,\n")
    assert "segments.csv:2 column" in message
    assert "needed as many cells as heads" in message
    assert message.count("found") == 1


def test_a_target_of_99_999_is_not_99(tmp_path, catalog):
    (tmp_path / "segments.csv").write_text(csv_of({"length_m": "100"}))
    (tmp_path / "paths.csv").write_text("path,availability_percent,note\na,99,999,\n")
    with pytest.raises(InputError, match=r"paths\.csv:2 column 2: found '99' and '999' beside it"):
        read_design(tmp_path, catalog)
    (tmp_path / "paths.csv").unlink()
    (tmp_path / "project.csv").write_text("setting,value\navailability_percent,99,999\n")
    with pytest.raises(InputError, match=r"project\.csv:2 column"):
        read_design(tmp_path, catalog)


@pytest.mark.parametrize(
    "text",
    [
        f"{HEADS},\na,1,fiber,os2-12,100,6,C1,x,\n",  # heads end in a comma too
        f"{HEADS}\na,1,fiber,os2-12,100,,,,,\na,2,splice,fusion,,,,\n",  # no two halves
        f"our table,,\n\n{HEADS}\na,1,fiber,os2-12,100,6,C1,x\n",  # a narrow title
    ],
)
def test_commas_at_the_end_that_shift_nothing(text, read):
    assert read(text).segments[0].length_m == 100


THREE = {"14.850": "14.85 m or 14850 m", "1,620": "1.62 or 1620"}


@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("text", THREE)
@pytest.mark.parametrize("beside", ["", "1000", "7"])
def test_three_digits_after_a_lone_sign_are_asked(separator, text, beside, read):
    """Nothing else in the file says which sign is the decimal one."""
    message = refused(read, csv_of({"length_m": text, "measured_db": beside}, separator))
    assert f"length_m: found '{text}'" in message
    assert "this may be" in message


@pytest.mark.parametrize(
    ("text", "beside", "value"),
    [
        ("14.850", "12.5", 14.85),  # the file writes points
        ("14.850", "0.75", 14.85),
        ("1,620", "12,5", 1.62),  # the file writes commas
        ("0.850", "", 0.85),  # no thousands begin with 0
        ("1234.567", "", 1234.567),
        ("14,5", "", 14.5),
    ],
)
def test_a_file_that_leaves_no_doubt(text, beside, value, read):
    design = read(csv_of({"length_m": text, "measured_db": beside}, ";"))
    assert design.segments[0].length_m == value


@pytest.mark.parametrize(("text", "beside"), [("14.850", "12,5"), ("1,620", "12.5")])
def test_a_file_of_the_other_sign(text, beside, read):
    assert "this may be" in refused(read, csv_of({"length_m": text, "measured_db": beside}, ";"))


def test_points_in_a_comma_csv_are_points(read):
    assert read(csv_of({"length_m": "14.850"})).segments[0].length_m == 14.85


@pytest.fixture
def book(tmp_path, catalog):
    """Read a workbook of one run whose length is what is given; the part's XML may be changed."""
    import io
    import zipfile

    import openpyxl

    def one(length, change=lambda xml: xml):
        made, out = openpyxl.Workbook(), io.BytesIO()
        sheet = made.active
        sheet.title = "segments"
        sheet.append([*FIBER, "length_m"])
        sheet.append([*FIBER.values(), length])
        made.save(out)
        path = tmp_path / "design.xlsx"
        with zipfile.ZipFile(out) as source, zipfile.ZipFile(path, "w") as target:
            for name in source.namelist():
                content = source.read(name)
                if name == "xl/worksheets/sheet1.xml":
                    content = change(content)
                target.writestr(name, content)
        return read_design(path, catalog)

    return one


def test_a_text_of_three_digits_in_a_cell_is_asked(book):
    for text in ("1.620", "1,620"):
        with pytest.raises(InputError, match="this may be"):
            book(text)
    assert book(1.62).segments[0].length_m == 1.62
    assert book("1.62").segments[0].length_m == 1.62


def test_a_text_formula_without_a_value_is_no_blank(book):
    def formula(value):
        return lambda xml: xml.replace(
            b'<c r="E2" t="n"><v>5</v></c>',
            b'<c r="E2" t="str"><f>A1&amp;"5"</f>' + value + b"</c>",
        )

    with pytest.raises(InputError, match="without a value"):
        book(5, formula(b""))
    assert book(5, formula(b"<v></v>")).segments[0].length_m is None
    assert book(5, formula(b"<v>5</v>")).segments[0].length_m == 5


@pytest.mark.parametrize("second", [b"6", b"5"])
def test_two_values_in_one_cell_are_refused(book, second):
    twice = b'<c r="E2"><v>5</v></c><c r="E2"><v>' + second + b"</v></c>"
    with pytest.raises(InputError, match="two values in one cell, segments!E2"):
        book(5, lambda xml: xml.replace(b'<c r="E2" t="n"><v>5</v></c>', twice))


DAYS = {
    "2024-02-31": False,
    "2024-02-29": True,
    "2023-02-29": False,
    "2026-13-01": False,
    "31/04/2026": False,
    "04/31/2026": False,
    "12/31/2026": True,
    "31.12.2026": True,
    "May 2026": True,
    "2026-05-06": True,
    "2026-00-10": False,
}


@pytest.mark.parametrize("text", DAYS)
def test_a_date_is_a_day(text, tmp_path, catalog):
    (tmp_path / "segments.csv").write_text(csv_of({"length_m": "100"}))
    (tmp_path / "project.csv").write_text(f"setting,value\ndate,{text}\n")
    if DAYS[text]:
        assert read_design(tmp_path, catalog).project.date == text
    else:
        with pytest.raises(InputError, match="a day that no calendar has"):
            read_design(tmp_path, catalog)


@pytest.mark.parametrize("column", ["strand", "port", "to_port", "part", "to_part", "label"])
@pytest.mark.parametrize("text", ["6-May", "2026-05-06", "01/02/2026", "May-26"])
def test_a_date_where_a_name_is_wanted(column, text, tmp_path, catalog):
    rows = {"path": "a", "step": "1", "kind": "copper", "part": "cat5e", "length_m": "9"}
    if column == "strand":
        rows |= {"kind": "fiber", "part": "os2-12"}
    if column == "to_part":
        rows |= {"kind": "radio", "part": "radio-60"}
    rows[column] = text
    heads, cells = zip(*rows.items())
    (tmp_path / "segments.csv").write_text(",".join(heads) + "\n" + ",".join(cells) + "\n")
    with pytest.raises(InputError, match="a spreadsheet took the entry for a date"):
        read_design(tmp_path / "segments.csv", catalog)


@pytest.mark.parametrize(("text", "ok"), [("0.999", False), ("49.9", False), ("50", True)])
def test_an_availability_below_50_is_a_share(text, ok, tmp_path, catalog):
    (tmp_path / "segments.csv").write_text(csv_of({"length_m": "100"}))
    for table, row in (
        ("project", "setting,value\navailability_percent,{}\n"),
        ("paths", "path,availability_percent\na,{}\n"),
    ):
        (tmp_path / f"{table}.csv").write_text(row.format(text))
        if ok:
            assert read_design(tmp_path, catalog)
        else:
            with pytest.raises(InputError, match=r"99\.9 % is written 99\.9"):
                read_design(tmp_path, catalog)
        (tmp_path / f"{table}.csv").unlink()
