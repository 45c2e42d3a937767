"""A user's own catalogues: what they replace, and how strictly they are read."""

import pytest

from backhaul.catalog import load_catalog
from backhaul.errors import InputError

HEAD = "part,rate_mbps,fiber_mode,launch_min_dbm,launch_max_dbm,source,basis\n"
GOOD = HEAD + "mine,1000,single,-9,-3,data sheet of 2 May,data sheet\n"
JOINTS = "part,kind,max_db,source,basis\n"


def problems_of(lay_over, files, **options):
    with pytest.raises(InputError) as raised:
        lay_over(files, **options)
    return [str(problem) for problem in raised.value.problems]


def test_a_part_named_replaces_its_row_and_nothing_else(lay_over, catalog):
    laid = lay_over({"optics.csv": GOOD + "10GBASE-LR,10000,single,-6,1,offer,data sheet\n"})
    assert laid.optics["mine"].launch_min_dbm == -9
    assert laid.optics["10gbase-lr"].launch_min_dbm == -6
    assert laid.optics["10gbase-lr"].sensitivity_dbm is None
    assert laid.optics["10gbase-lr"].part == "10gbase-lr"
    assert laid.optics["10gbase-er"] == catalog.optics["10gbase-er"]
    assert len(laid.optics) == len(catalog.optics) + 1
    # only in that file
    assert laid.optic_reach["10gbase-lr", "OS2"] == catalog.optic_reach["10gbase-lr", "OS2"]


def test_all_rows_of_the_part_go(lay_over, catalog):
    laid = lay_over(
        {
            "ports.csv": "part,port,form,rates_mbps,source,basis\n"
            "Switch-24-1G,up 1,sfp+,1000/10000,x,demo\n",
            "optic_reach.csv": "part,fiber_class,reach_m,source,basis\n1000base-sx,om3,300,x,demo\n",
        }
    )
    (port,) = laid.ports["switch-24-1g"]
    assert (port.part, port.port, port.rates_mbps) == ("switch-24-1g", "up 1", (1000, 10000))
    assert laid.ports["switch-8-1g"] == catalog.ports["switch-8-1g"]
    assert {fiber for part, fiber in laid.optic_reach if part == "1000base-sx"} == {"OM3"}
    assert len(laid.optic_reach) == len(catalog.optic_reach) - 6


def test_rows_find_parts_of_other_files(lay_over):
    laid = lay_over(
        {
            "devices.csv": "part,supply,watts,source,basis\nMy Switch,DC,9,x,demo\n",
            "ports.csv": "part,port,form,source,basis\nmy-switch,1,rj45,x,demo\n",
            "fibers.csv": "part,mode,fibre class,source,basis\nf,single,My Class,x,demo\n",
            "optic_reach.csv": "part,fiber_class,reach_m,source,basis\n10gbase-lr,myclass,9,x,demo\n",
        }
    )
    assert [port.port for port in laid.ports["My Switch"]] == ["1"]
    assert laid.find("devices", "my_switch").part == "My Switch"
    assert laid.optic_reach["10gbase-lr", "My Class"].reach_m == 9
    assert laid.ports["switch-8-1g"]


def test_a_cable_may_have_a_reach_of_its_own(lay_over):
    laid = lay_over(
        {
            "copper_reach.csv": "part,rate_mbps,category,reach_m,source,basis\n"
            "cat6-out,1000,cat 6,80,x,demo\n"
        }
    )
    assert [row.reach_m for row in laid.copper_reach["cat6-out"]] == [80]


def test_the_last_folder_lies_on_top(tmp_path):
    for folder, power in (("below", -9), ("above", -5)):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "optics.csv").write_text(GOOD.replace("-9,", f"{power},"))
    assert (
        load_catalog([tmp_path / "below", tmp_path / "above"]).optics["mine"].launch_min_dbm == -5
    )
    assert (
        load_catalog([tmp_path / "above", tmp_path / "below"]).optics["mine"].launch_min_dbm == -9
    )


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (GOOD, "utf-8-sig"),
        (GOOD.replace("\n", "\r\n"), "utf-8"),
        (GOOD.replace(",", ";").replace("-9", "-9,0"), "utf-8"),
        (GOOD.replace(",", "\t").replace("-9", "-9,0"), "utf-8"),
        (GOOD.replace("\n", "\n\n"), "utf-8"),
        (
            GOOD.replace("fiber_mode", "Fibre Mode").replace("launch_min_dbm", "Launch-Min dBm"),
            "utf-8",
        ),
        (GOOD.replace("single", "SM").replace("data sheet\n", "Data-Sheet\n"), "utf-8"),
        (GOOD.replace("offer", "Größe"), "utf-16"),
        (GOOD.replace("offer", "Größe"), "utf-16-le"),
        (GOOD.replace("offer", "Größe"), "cp1252"),
        ("our optics\n\n" + GOOD.replace("launch_min_dbm", "Launch min [dBm]"), "utf-8"),
        ("sep=;\n" + GOOD.replace(",", ";"), "utf-8"),
        (GOOD.replace("-9,", '"-9,0",'), "utf-8"),
    ],
    ids=[
        "byte order mark",
        "CRLF",
        "semicolon",
        "tab",
        "blank lines",
        "spellings",
        "choices",
        "UTF-16",
        "UTF-16 without a mark",
        "Windows-1252",
        "a title, a unit in brackets",
        "a named separator",
        "a quoted decimal comma",
    ],
)
def test_forms_that_are_read_alike(content, encoding, lay_over):
    mine = lay_over({"Optics.CSV": content}, encoding=encoding).optics["mine"]
    assert (mine.launch_min_dbm, mine.fiber_mode, mine.basis) == (-9, "single", "data sheet")


FAULTS = {
    "a unit": (
        JOINTS + "a,connector,0.5 dB,x,demo\n",
        ["joints.csv:2 max_db: found '0.5 dB'; needed a number in dB; write 0.5"],
    ),
    "out of range": (
        JOINTS + "a,connector,-1,x,demo\n",
        ["joints.csv:2 max_db: found '-1'; needed a number in dB from 0 to 60"],
    ),
    "not finite": (
        JOINTS + "a,connector,nan,x,demo\nb,connector,inf,x,demo\n",
        [":2 max_db: found 'nan'", ":3 max_db: found 'inf'"],
    ),
    "digits of Python": (JOINTS + "a,connector,1_0,x,demo\n", [":2 max_db: found '1_0'"]),
    "thousands or decimals": (
        JOINTS.replace(",", ";") + "a;connector;1,250;x;demo\n",
        [":2 max_db: found '1,250'"],
    ),
    "not a choice": (
        JOINTS + "a,plug,0.5,x,demo\n",
        [":2 kind: found 'plug'; needed connector, splice, attenuator, splitter or filter"],
    ),
    "no source": (JOINTS + "a,connector,0.5,,demo\n", [":2 source: found a blank; needed a text"]),
    "unknown basis": (
        JOINTS + "a,connector,0.5,x,hearsay\n",
        [":2 basis: found 'hearsay'; needed standard, computed"],
    ),
    "no part": (JOINTS + ",connector,0.5,x,demo\n", [":2 part: found a blank"]),
    "no column": (
        "part,kind,max_db,source\na,connector,0.5,x\n",
        ["joints.csv:1: found no column 'basis'"],
    ),
    "a column twice": (
        JOINTS.replace("source", "max-db,source") + "a,connector,1,2,x,demo\n",
        ["joints.csv:1 column 4: found the head 'max-db' again"],
    ),
    "a part twice": (
        JOINTS + "a,connector,0.5,x,demo\nA,connector,0.6,x,demo\n",
        [":3 part: found A again; needed one row, as in line 2"],
    ),
    "too many cells": (JOINTS + "a,connector,0.5,x,demo,more\n", [":2 column 6: found 'more'"]),
    "a decimal comma among commas": (
        JOINTS + "a,connector,0,5,x,demo\n",
        [":2 column 3: found '0' and '5' beside it, in a row of 6 cells under 5 heads"],
    ),
    "open quote": (JOINTS + 'a,"connector,0.5,x,demo\n', ["needed rows of a CSV"]),
    "empty": ("", ["joints.csv: found an empty file"]),
    "falling limits": (
        JOINTS.replace("max_db", "max_db,min_db") + "a,connector,0.3,0.5,x,demo\n",
        [":2 max_db: found 0.3; needed at least min_db = 0.5"],
    ),
    "all at once": (
        JOINTS + "a,plug,x,x,\nb,connector,99,x,demo\n",
        [":2 kind", ":2 max_db", ":2 basis", ":3 max_db"],
    ),
}


@pytest.mark.parametrize(("content", "expected"), FAULTS.values(), ids=FAULTS)
def test_a_fault_says_where_what_and_what_is_needed(content, expected, lay_over):
    found = problems_of(lay_over, {"joints.csv": content})
    assert len(found) == len(expected), found
    for text, start in zip(found, expected, strict=True):
        assert start in text


@pytest.mark.parametrize(
    ("start", "what"),
    [
        (b"PK\x03\x04rest", "a zip file or a workbook under the name of a CSV"),
        (b"\xd0\xcf\x11\xe0rest", "an old workbook"),
        (b"%PDF-1.7", "a PDF"),
        (b"part,source\n\x81\x8d\x8f,x\n", "no usual encoding"),
        (b"part,source\n\0,x\n", "a NUL byte"),
    ],
    ids=["xlsx", "xls", "pdf", "no text", "binary"],
)
def test_what_is_no_csv_is_said_plainly(start, what, tmp_path):
    (tmp_path / "joints.csv").write_bytes(start)
    with pytest.raises(InputError, match=what):
        load_catalog([tmp_path])


REFERENCES = {
    "port of nothing": (
        {"ports.csv": "part,port,source,basis\nswitch-8-1gg,1,x,demo\n"},
        (
            "ports.csv:2 part: found 'switch-8-1gg'; needed a part of devices.csv"
            " or radios.csv; nearest: 'switch-8-1g'"
        ),
    ),
    "modes of nothing": (
        {
            "radio_modes.csv": "part,channel_mhz,mode,rate_mbps,sensitivity_dbm,"
            "source,basis\nzzz,20,a,10,-80,x,demo\n"
        },
        "found 'zzz'; needed a part of radios.csv; add it to radios.csv",
    ),
    "reach of nothing": (
        {"optic_reach.csv": "part,fiber_class,source,basis\n10gbase-lx,OS2,x,demo\n"},
        "found '10gbase-lx'; needed a part of optics.csv; nearest: ",
    ),
    "no such class": (
        {"optic_reach.csv": "part,fiber_class,source,basis\n10gbase-lr,OS3,x,demo\n"},
        "fiber_class: found 'OS3'; needed a fiber_class of fibers.csv; nearest: 'OS",
    ),
}


@pytest.mark.parametrize(("files", "expected"), REFERENCES.values(), ids=REFERENCES)
def test_rows_must_speak_of_something(files, expected, lay_over):
    (found,) = problems_of(lay_over, files)
    assert expected in found


def test_faults_of_all_files_come_together(lay_over):
    found = problems_of(
        lay_over,
        {
            "joints.csv": JOINTS + "a,plug,0.5,x,demo\n",
            "optics.csv": GOOD.replace("-9", "low"),
            "ports.csv": "part,port,source,basis\nnothing-like-it,1,x,demo\n",
        },
    )
    assert len(found) == 3


def test_unread_columns_and_files_are_noted(lay_over):
    laid = lay_over(
        {
            "joints.csv": JOINTS.replace("\n", ",colour,min db\n")
            + "a,connector,0.5,x,demo,9,0.1\n",
            "joint.csv": "whatever",
            "notes.csv": "whatever",
        }
    )
    assert laid.joints["a"].min_db == 0.1
    assert [(note.check, note.severity, note.where) for note in laid.notes] == [
        ("ignored", "note", "mine/joint.csv"),
        ("ignored", "note", "mine/notes.csv"),
        ("ignored", "note", "mine/joints.csv:1 column 6"),
    ]
    assert laid.notes[0].remedy == "is joint.csv meant as joints.csv?"


def test_a_folder_must_be_there_and_hold_something(tmp_path):
    with pytest.raises(InputError, match="no such folder"):
        load_catalog([tmp_path / "gone"])
    with pytest.raises(InputError, match="no catalogue file"):
        load_catalog([tmp_path])


def test_a_blank_is_none_and_a_limit_that_is_blank_is_no_limit(lay_over):
    mine = lay_over({"optics.csv": GOOD}).optics["mine"]
    assert (mine.overload_dbm, mine.damage_dbm, mine.max_dispersion_ps_nm) == (None, None, None)
    assert (mine.strands, mine.budget_form) == (2, "P")


def test_a_long_note_with_commas_and_line_breaks_keeps_the_lines_right(lay_over):
    content = JOINTS.replace("\n", ",note\n") + (
        'a,connector,0.5,x,demo,"two, lines\nin a cell"\nb,connector,much,x,demo,\n'
    )
    (found,) = problems_of(lay_over, {"joints.csv": content})
    assert "mine/joints.csv:4 max_db" in found


def test_a_row_may_hold_for_several_parts(lay_over, catalog):
    """A ladder that two radios share stands once, in a user's file as in ours."""
    own = lay_over(
        {
            "radio_modes.csv": "part,channel_mhz,mode,rate_mbps,sensitivity_dbm,source,basis\n"
            "radio-5ghz-he-int; RADIO-5GHZ-HE-EXT,20,M,50,-80,mine,data sheet\n"
        }
    )
    for part in ("radio-5ghz-he-int", "radio-5ghz-he-ext"):
        (mode,) = own.radio_modes[part]
        assert (mode.part, mode.sensitivity_dbm) == (part, -80)
    assert own.radio_modes["radio-5ghz-ht-int"] == catalog.radio_modes["radio-5ghz-ht-int"]


def test_an_unknown_one_of_several_parts_is_told(lay_over):
    with pytest.raises(InputError, match="radio-5ghz-he-exd"):
        lay_over(
            {
                "radio_modes.csv": "part,channel_mhz,mode,rate_mbps,sensitivity_dbm,source,basis\n"
                "radio-5ghz-he-int;radio-5ghz-he-exd,20,M,50,-80,mine,data sheet\n"
            }
        )


def test_no_conductor_beats_copper(lay_over):
    """12 AWG has 5.21 ohm/km and 1.588 ohm by 1000 ft (ASTM B258): one is not typed as the other."""
    head = "part,area_mm2,ohm_per_km,source,basis\n"
    laid = lay_over({"feeds.csv": head + "mine,3.31,5.21,x,demo\n"})
    assert laid.feeds["mine"].ohm_per_km == 5.21
    # 17.241 ohm mm²/km (IEC 60028) over 3.31 mm², less 5 %: 4.948 ohm/km
    assert lay_over({"feeds.csv": head + "mine,3.31,4.95,x,demo\n"}).feeds["mine"]
    for ohm in (1.588, 4.94):
        (problem,) = problems_of(lay_over, {"feeds.csv": head + f"mine,3.31,{ohm},x,demo\n"})
        assert "3.281 times as much" in problem
