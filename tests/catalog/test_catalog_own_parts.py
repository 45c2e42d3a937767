"""Own parts: rows to start from, what they change in a class, what is not sure."""

import csv
import io

import pytest

from backhaul.catalog import FAMILIES
from backhaul.catalog.families import UNSURE
from backhaul.errors import InputError, OutputError
from backhaul.report.own_parts import GLAD_OF, own_parts_lines
from backhaul.report.part_rows import _csv_text, files_of_part, unsure_rows, write_files
from backhaul.report.parts import show_parts


def shown(capsys, name=None, folders=(), contains=None, **options):
    asked = {"as_json": False, "as_csv": False, "unsure": False, "output": None} | options
    show_parts(name, folders, contains, **asked)
    return capsys.readouterr().out


def test_rows_to_start_from_are_read_back_as_they_were(catalog, lay_over):
    """No digit, list, range of light or blank of any row is lost on the way."""
    files = {
        family.file: _csv_text(family, [row.record for row in catalog.rows(family.name)])
        for family in FAMILIES
    }
    read = lay_over(files)
    for family in FAMILIES:
        ours, own = (each.rows(family.name) for each in (catalog, read))
        assert [row.record for row in own] == [row.record for row in ours], family.name
        assert all(read.stock(family.name).own(part) for part in catalog.stock(family.name))


#: the files that a part of a kind takes, by catalogs/README.md
TAKES = {
    "radio-5ghz-he-ext": {"radios.csv", "radio_modes.csv", "ports.csv"},
    "switch-8-1g": {"devices.csv", "ports.csv"},
    "1000base-lx10": {"optics.csv", "optic_reach.csv"},
    "os2-12": {"fibers.csv"},
    "lc-upc": {"joints.csv"},
    "cat6a-s-out": {"copper.csv"},
    "us-900": {"bands.csv"},
}


@pytest.mark.parametrize("part", TAKES)
def test_a_part_brings_the_rows_of_all_its_families(part, catalog):
    files = files_of_part(catalog, part.upper().replace("-", " "))
    assert set(files) == TAKES[part]
    for text in files.values():
        assert {row["part"] for row in csv.DictReader(io.StringIO(text))} == {part}


def test_an_unknown_part_is_told_the_nearest(catalog):
    with pytest.raises(InputError, match="radio-80ghz-low"):
        files_of_part(catalog, "radio-80gz-low")


def test_the_files_are_a_catalogue_of_ones_own_and_replace_nothing(catalog, tmp_path, capsys):
    place = tmp_path / "own"
    shown(capsys, "radio-5ghz-he-ext", as_csv=True, output=place)
    told = shown(capsys, folders=[place])
    assert told.count("replaces ours: no figure differs") == 3
    with pytest.raises(OutputError, match=r"radios\.csv"):
        write_files(place, files_of_part(catalog, "radio-5ghz-he-ext"))


def test_a_part_in_the_place_of_a_class_tells_what_is_better_and_worse(catalog, lay_over):
    radio = catalog.radios["radio-5ghz-he-ext"]
    better, worse = radio.tx_power_dbm + 3, radio.noise_figure_db + 1
    own = lay_over(
        {
            "radios.csv": "part,tx_power_dbm,noise_figure_db,source,basis\n"
            f"radio-5ghz-he-ext,{better},{worse},mine,data sheet\n"
            "radio-5ghz-he-exd,24,6,mine,data sheet\n",
            "fibers.csv": "part,mode,fiber_class,max_db_km_1310,max_db_km_1550,source,basis\n"
            "os2-12,single,OS2,0.36,0.45,mine,data sheet\n",
        }
    )
    lines = own_parts_lines(own, catalog)
    assert len(lines) == 3
    replaced = next(line for line in lines if "radio-5ghz-he-ext replaces" in line)
    assert f"better: tx_power_dbm {radio.tx_power_dbm:g} to {better:g}" in replaced
    after = replaced.split("; worse: ")[1]
    assert f"noise_figure_db {radio.noise_figure_db:g} to {worse:g}" in after
    assert "temp_max_c" in after.split("; left blank: ")[1]  # the row replaces the whole class
    new = next(line for line in lines if "radio-5ghz-he-exd" in line)
    assert "is new; nearest: radio-5ghz-he-ext" in new
    glass = next(line for line in lines if line.startswith("fibers.csv os2-12 replaces"))
    better_part, worse_part = glass.split("; worse: ")
    assert "max_db_km_1310 0.4 to 0.36" in better_part
    assert "max_db_km_1550 0.4 to 0.45" in worse_part


def test_modes_are_compared_mode_by_mode(catalog, lay_over):
    mode = catalog.radio_modes["radio-5ghz-he-ext"][0]
    own = lay_over(
        {
            "radio_modes.csv": "part,channel_mhz,mode,rate_mbps,sensitivity_dbm,source,basis\n"
            f"radio-5ghz-he-ext,{mode.channel_mhz},{mode.mode},{mode.rate_mbps},"
            f"{mode.sensitivity_dbm - 1},mine,data sheet\n"
        }
    )
    (line,) = own_parts_lines(own, catalog)
    assert "better: sensitivity_dbm" in line and f"({mode.channel_mhz:g} {mode.mode})" in line
    gone = len(catalog.radio_modes["radio-5ghz-he-ext"]) - 1
    assert line.count("no longer") == gone


def test_what_one_is_glad_of_are_columns():
    known = {column.name for family in FAMILIES for column in family.columns}
    assert set(GLAD_OF) <= known


def test_unsure_lists_every_row_from_memory_and_no_other(catalog, capsys):
    remembered = [
        row.where("part").split()[0]
        for family in FAMILIES
        for row in catalog.rows(family.name)
        if row.record.basis == UNSURE
    ]
    assert [row["place"] for row in unsure_rows(catalog)] == remembered
    told = shown(capsys, unsure=True)
    assert f"{len(remembered)} of " in told
    assert shown(capsys, "coppers", unsure=True).splitlines()[0] == "coppers:"
