"""The `edits` of the JSON, made cell by cell in the tables as somebody does by hand, hold as they
are proved: a thing that stands in several rows is named in each of them. Designs are invented."""

import csv
import re
from pathlib import Path

import compact
import pytest

from backhaul.design.edits import edited
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.remedies.settling import settle
from backhaul.report.record import record
from backhaul.report.settlement import settlement_record

CASES = Path(__file__).parents[1] / "cases"
SITES = (
    "project region=CEPT | site A latitude=50 longitude=0 ground_m=100 rain_rate_mm_h=30 dn1=-200"
    " | site B latitude=50 longitude=0.08 ground_m=100 rain_rate_mm_h=30 dn1=-200"
)
HOP = (
    "device switch-out-4-2.5g-poe-bt-180 site={0} label=S{0} | copper cat6a-s-out 10m site={0} to_site={0} label=C{0} | "
    "radio {1} label=H | copper cat6a-s-out 10m site={2} to_site={2} label=C{2} | "
    "device switch-out-4-2.5g-poe-bt-180 site={2} label=S{2}"
)
#: one hop in two paths, the second time the other way round
THERE_AND_BACK = (
    HOP.format(
        "A",
        "{part} site=A to_site=B frequency_ghz={ghz} channel_mhz=20 height_m=20 to_height_m={far} {more}",
        "B",
    )
    + " || "
    + HOP.format(
        "B",
        "{part} site=B to_site=A frequency_ghz={ghz} channel_mhz=20 height_m={far} to_height_m=20 {back}",
        "A",
    )
)
INT = "radio-5ghz-he-int"


def shared_designs():
    """Designs of the cases in which one label stands in two rows."""
    for file in sorted(CASES.glob("*.csv")):
        with file.open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                labels = re.findall(r"\b(?:label|hub)=(\S+)", row["segments"])
                if len(labels) > len(set(labels)) and row["expect"][0] in "ft":
                    yield pytest.param(row["segments"], row["others"], id=row["case"])


HOPS = [
    pytest.param(THERE_AND_BACK.format(**given), SITES, id=name)
    for name, given in {
        "power": {"part": INT, "ghz": 5.6, "far": 20, "more": "", "back": ""},
        "frequency": {
            "part": INT,
            "ghz": 5.2,
            "far": 20,
            "more": "tx_power_dbm=-5",
            "back": "tx_power_dbm=-5",
        },
        "second antenna of the far end": {
            "part": INT,
            "ghz": 5.6,
            "far": 20,
            "more": "tx_power_dbm=-5 to_diversity_m=2",
            "back": "tx_power_dbm=-5 diversity_m=2",
        },
    }.items()
]


def by_hand(tables: dict[str, list[dict]], edits: list[dict]) -> dict[str, list[dict]]:
    """The tables with every edit made in the rows that its key names, and in no other."""
    tables = {name: [dict(row) for row in rows] for name, rows in tables.items()}
    for edit in edits:
        rows = tables.setdefault(edit["table"], [])
        own = [row for row in rows if all(row.get(k) == str(v) for k, v in edit["key"].items())]
        if edit["action"] == "insert":
            rows.append({k: "" if v is None else str(v) for k, v in edit["row"].items()})
        elif edit["action"] == "remove":
            rows[:] = [row for row in rows if row not in own]
        elif edit["table"] == "project":
            rows.append({"setting": edit["key"]["setting"], "value": str(edit["to"])})
        else:
            assert own, edit["key"]
            for row in own:
                row[edit["column"]] = "" if edit["to"] is None else str(edit["to"])
    return tables


def plain(design) -> list[tuple]:
    rows = sorted(design.segments, key=lambda row: (row.path, row.step))
    return [row._replace(id=0, row=0, table=None) for row in rows]


@pytest.mark.parametrize(("segments", "others"), [*HOPS, *shared_designs()])
def test_edits_made_cell_by_cell_are_the_change_that_was_proved(segments, others, tmp_path):
    catalog = compact.own_catalog()
    tables = {"segments": compact.segments(segments)} | dict(compact.other_tables(others))
    design = read_design(compact.write_tables(tmp_path / "as-is", tables), catalog)
    found = evaluate(design, catalog, remedies=True)
    told = {finding["id"]: finding["edits"] for finding in record(found)["findings"]}
    sets = {repr(f.edits): (f.edits, told[f.id]) for f in found.findings if f.edits}
    for number, (proved, edits) in enumerate(sets.values()):
        folder = compact.write_tables(tmp_path / str(number), by_hand(tables, edits))
        assert plain(read_design(folder, catalog)) == plain(edited(design, proved, catalog))


def test_the_hops_have_edits_in_both_rows(tmp_path):
    """What is proposed for a hop that stands in two paths names both."""
    for number, case in enumerate(HOPS):
        evaluation = compact.run(tmp_path / str(number), *case.values)
        found = evaluate(evaluation.design, evaluation.catalog, remedies=True)
        edits = [e for f in record(found)["findings"] for e in f["edits"]]
        assert {edit["key"]["path"] for edit in edits} == {"P1", "P2"}


def test_what_settle_tells_names_both_rows(tmp_path):
    catalog = compact.own_catalog()
    segments, others = HOPS[2].values
    tables = {"segments": compact.segments(segments)} | dict(compact.other_tables(others))
    design = read_design(compact.write_tables(tmp_path / "as-is", tables), catalog)
    settled = settle(design, lambda one, **how: evaluate(one, catalog))
    edits = settlement_record(settled)["edits"]
    assert [(e["key"]["path"], e["column"]) for e in edits] == [
        ("P1", "to_diversity_m"),
        ("P2", "diversity_m"),
    ]
    folder = compact.write_tables(tmp_path / "by-hand", by_hand(tables, edits))
    assert plain(read_design(folder, catalog)) == plain(settled.design)


@pytest.mark.parametrize(
    ("column", "value", "mirrored"),
    [
        ("frequency_ghz", 5.58, "frequency_ghz"),  # blank at the far end: as at the first
        ("to_part", "radio-5ghz-he-ext", "part"),
        ("to_height_m", 12.0, "height_m"),
        ("to_frequency_ghz", 5.64, "frequency_ghz"),
        ("tx_power_dbm", 3.0, "tx_power_dbm"),
    ],
)
def test_a_change_of_a_hop_told_from_both_ends_is_one_of_both(column, value, mirrored, tmp_path):
    """The row that tells it from the other end has it at its own other end."""
    design = compact.run(tmp_path, *HOPS[0].values).design
    changed = design.changed("P1", 3, compact.own_catalog(), **{column: value})
    rows = {row.path[0]: row for row in changed.segments if row.kind == "radio"}
    assert getattr(rows["P1"], column) == getattr(rows["P2"], mirrored) == value
