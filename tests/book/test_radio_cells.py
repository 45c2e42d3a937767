"""Hops: every yellow cell typed over, every cell of the tables blanked: one truth everywhere.

The reference is our own evaluation of the changed design; a second engine does the recalculation.
Designs are invented.
"""

import pytest
from our_parts import our_rows
from small_designs import SITES, Typed, evaluated, write_table
from small_hops import RADIO, SHEETS, TERRAIN, assert_same, hop

from backhaul.book.plan import Plan
from backhaul.book.sheets import radio_hops
from backhaul.catalog.families import ANTENNAS, RADIO_MODES, RADIOS
from backhaul.figures.mode_terms import MODE_TERMS
from backhaul.figures.radio_terms import DIRECTION_TERMS
from backhaul.path.links import RADIO as RADIO_LINK
from backhaul.report.record import record
from backhaul.spreadsheet.cells import Text

SWAYING = [dict(site, sway_deg="0.5", declination_deg="1.5") for site in SITES]
#: Cells of the hop's own row and what is typed into them instead.
ROW = {
    "tx_power_dbm": 9.0,
    "extra_loss_db": 2.5,
    "up_share_percent": 35.0,
    "noise_rise_db": 1.25,
    "radio_margin_db": 12.5,
}
OWN = {"up_share_percent": "60", "noise_rise_db": "0.5", "radio_margin_db": "11"}
# Frequency, heights and water move what stays as computed (gas, diffraction, reflection, multipath):
# the sheet says so, and the clearance that follows them has a test of its own.


def test_every_yellow_cell_of_the_row_and_its_sites(tmp_path):
    book = Typed(evaluated(tmp_path / "a", hop(**OWN), terrain=TERRAIN, sites=SWAYING), *SHEETS)
    typed = {f"given.label.H1.{name}": value for name, value in ROW.items()}
    sites = {"sway_deg": 0.9, "rain_rate_mm_h": 41.0}
    moved = [dict(site) for site in SWAYING]
    for site in moved:
        if site["site"] in ("crest", "tower"):
            site.update({name: repr(value) for name, value in sites.items()})
            typed |= {f"given.site.{site['site']}.{name}": value for name, value in sites.items()}
    columns = {name: repr(value) for name, value in ROW.items()}
    changed = evaluated(tmp_path / "b", hop(**OWN | columns), terrain=TERRAIN, sites=moved)
    assert_same(book.typed(typed), changed)


def test_every_yellow_cell_of_the_radio_and_its_modes(tmp_path):
    """All figures of the part moved at once, each by its own amount."""
    book = Typed(evaluated(tmp_path / "a", hop(), terrain=TERRAIN, sites=SWAYING), *SHEETS)
    typed: dict[str, float] = {}
    tables: dict[str, list[dict[str, str]]] = {}
    for file in ("radios", "radio_modes"):
        tables[file] = [row for row in our_rows(f"{file}.csv") if row["part"] == RADIO]
    keys = [key for key in book.layout.spots if key.startswith(("given.radio", "eff.radio"))]
    in_use = {key.removeprefix("given.").removeprefix("eff."): key for key in keys}
    place = 0
    for row in tables["radios"]:
        for name in RADIOS.record._fields:
            key = in_use.get(f"radios.{RADIO}.{name}")
            if key is not None:
                place += 1
                moved = {"mac_efficiency": 0.55, "chains": 3.0}.get(name)
                typed[key] = float(row[name] or 0) + 0.25 * place if moved is None else moved
                row[name] = repr(typed[key]) if name != "chains" else "3"
    for row in tables["radio_modes"]:
        for name in ("rate_mbps", "sensitivity_dbm", "tx_power_dbm"):
            ending = f"{float(row['channel_mhz']):g}.{row['mode']}.{name}"
            key = in_use.get(f"radio_modes.{RADIO}.{ending}")
            if key is not None:
                place += 1
                typed[key] = float(row[name]) + 0.125 * (place % 7)
                row[name] = repr(typed[key])
    assert len(typed) == len(in_use) > 20
    folder = tmp_path / "catalog"
    folder.mkdir()
    for file, rows in tables.items():
        write_table(folder, file, rows)
    changed = evaluated(tmp_path / "b", hop(), terrain=TERRAIN, sites=SWAYING, catalogs=(folder,))
    assert_same(book.typed(typed), changed)


BLANKS = [
    *(("radios", column.name) for column in RADIOS.columns if not column.required),
    *(("radio_modes", column.name) for column in RADIO_MODES.columns if not column.required),
    *(("antennas", column.name) for column in ANTENNAS.columns if not column.required),
    *(
        ("row", name)
        for name in (
            *("height_m", "to_height_m", "frequency_ghz", "channel_mhz", "tx_power_dbm"),
            *("extra_loss_db", "site", "to_site", "antenna"),
        )
    ),
    *(
        ("sites", name)
        for name in ("latitude", "ground_m", "rain_rate_mm_h", "dn1", "temperature_c")
    ),
]


@pytest.mark.parametrize(("table", "column"), BLANKS)
def test_a_blank_says_the_same_everywhere(tmp_path, table, column):
    """No figure in the record is no figure in the book, and the two verdicts are one."""
    part, antenna = "radio-5ghz-he-ext", "dish-5ghz-0.3m"
    columns = {"antenna": antenna}
    sites = [dict(site) for site in SITES]
    catalogs = ()
    if table == "row":
        columns[column] = ""
    elif table == "sites":
        for site in sites:
            site[column] = ""
            if column == "latitude":
                site["longitude"] = ""
    else:
        rows = [r for r in our_rows(f"{table}.csv") if r["part"] in (part, antenna)]
        folder = tmp_path / "catalog"
        folder.mkdir()
        write_table(folder, table, [{**row, column: ""} for row in rows])
        catalogs = (folder,)
    rows = hop(**columns)
    for row in rows:
        row["part"] = row["part"].replace(RADIO, part)
    evaluation = evaluated(
        tmp_path / "design", rows, terrain=TERRAIN, sites=sites, catalogs=catalogs
    )
    hop_record = next(
        link
        for path in record(evaluation)["paths"]
        for link in path["links"]
        if link["kind"] == "radio"
    )
    plan = Plan(evaluation)
    sheet = radio_hops.build(plan)
    cells = {
        cell.key: cell
        for row in sheet.rows
        for cell in row.cells
        if not isinstance(cell, str) and getattr(cell, "key", "")
    }
    link = evaluation.network.links[RADIO_LINK][0]
    assert plan.link_verdicts[link.key][1] == evaluation.link_verdict(link)
    for way, told in zip("ab", hop_record["directions"], strict=True):
        for term in DIRECTION_TERMS:
            if term.key in told and term.key != "interference_dbm":
                # a line that stands only where hops share a hub is no figure either
                shown = not isinstance(cells.get(f"air.0.{way}.{term.key}", Text("")), Text)
                known = told[term.key] is not None
                assert shown == known or term.key == "reflection_loss_db", term.key
        for number, mode in enumerate(told["modes"]):
            for term in MODE_TERMS:
                if term.key in mode:
                    cell = cells[f"air.0.{way}.mode{number}.{term.key}"]
                    assert isinstance(cell, Text) == (mode[term.key] is None), term.key
