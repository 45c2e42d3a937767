"""What the declarations say holds everywhere: records, help of the blank design, the reader."""

import openpyxl
import pytest

from backhaul.design.blank import write_blank
from backhaul.design.columns import ALL_TABLES, TABLES
from backhaul.design.model import (
    Accepted,
    Demand,
    Extra,
    PathRow,
    Project,
    Reading,
    Segment,
    Site,
    Water,
)
from backhaul.design.read import read_design
from backhaul.design.settings import SETTINGS
from backhaul.errors import InputError

RECORDS = {
    "sites": Site,
    "segments": Segment,
    "paths": PathRow,
    "waters": Water,
    "accepted": Accepted,
    "readings": Reading,
    "demand": Demand,
    "extras": Extra,
}
#: The tables as the project's contract lists them; names may be added, never renamed or removed.
CONTRACT = {
    "project": "title client document revision date prepared_by checked_by approved_by status "
    "region currency optical_margin_db overload_margin_db repair_allowance_db radio_margin_db "
    "noise_rise_db availability_percent rate_headroom_percent feed_drop_percent spare_percent "
    "cable_slack_percent loop_m cage_rise_c supply_reserve_percent sun_rise_c autonomy_days "
    "worst_k_factor water_low_m water_high_m wave_height_m water",
    "sites": "site latitude longitude ground_m ambient_min_c ambient_max_c enclosure_rise_c "
    "corrosivity outdoor hazardous_area rain_rate_mm_h dn1 roughness_m log_k dn75 vapour_g_m3 "
    "temperature_c pressure_hpa wind_m_s sway_deg declination_deg sun_hours",
    "segments": "path step kind site to_site part to_part port to_port length_m count strand "
    "height_m to_height_m antenna to_antenna diversity_m to_diversity_m frequency_ghz "
    "to_frequency_ghz channel_mhz tx_power_dbm polarization eirp_limit_dbm up_share_percent "
    "extra_loss_db measured_db measured_nm cable_temperature_c route surface noise_rise_db "
    "radio_margin_db hub by label note",
    "paths": "path title availability_percent backs_up note",
    "waters": "water kind low_m high_m wave_height_m",
    "terrain": "path step label distance_m ground_m cover_m surface",
    "accepted": "check path step label value by date reason",
    "readings": "site reading value unit water_level_m by date remark",
    "demand": "path what count up_mbps down_mbps note",
    "extras": "site part description count unit by note",
}


@pytest.mark.parametrize("table", CONTRACT)
def test_every_name_of_the_contract_is_declared(table):
    columns = SETTINGS if table == "project" else TABLES[table]
    assert set(CONTRACT[table].split()) <= {column.name for column in columns}


@pytest.mark.parametrize("table", RECORDS)
def test_a_record_has_the_columns_and_their_defaults(table):
    record = RECORDS[table]
    assert not hasattr(record("x", *[0] * 6), "__dict__")  # as light as a bare tuple
    for column in TABLES[table]:
        if not column.required:
            assert record._field_defaults[column.attribute] == column.default


def test_settings_are_the_project():
    blank = Project()
    for column in SETTINGS:
        assert getattr(blank, column.name) == column.default, column.name


def test_the_help_says_the_default(tmp_path, catalog):
    write_blank(tmp_path / "blank.xlsx", catalog)
    sheet = openpyxl.load_workbook(tmp_path / "blank.xlsx")["project"]
    told = {row[0]: row[3] for row in sheet.iter_rows(min_row=2, values_only=True)}
    for column in SETTINGS:
        if isinstance(column.default, float):
            assert told[column.name].endswith(f"; blank = {column.default:g}")


def test_every_declared_help_is_there():
    for columns in (SETTINGS, *ALL_TABLES.values()):
        for column in columns:
            assert column.help, column.name


SEGMENTS = "path,step,kind,part,site,to_site,length_m,route,surface,label\n"
RUN = "a,1,fiber,os2-12,A,B,100,buried,,\n"
HOP = "a,2,radio,radio-60,B,C,,,lower lake,hop\n"
WATERS = "water,kind,low_m,high_m,wave_height_m\nLower Lake,fresh,3,5,\n"


@pytest.fixture
def folder(tmp_path):
    def write(**tables):
        for name, text in tables.items():
            (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
        return tmp_path

    return write


def test_new_tables_are_read(folder, catalog):
    design = read_design(
        folder(
            segments=SEGMENTS + RUN + HOP,
            waters=WATERS,
            accepted="check,path,step,by,date,reason,value\nsurge,a,1,J. Doe,2026-05-06,short run,\n",
            readings="site,reading,value,unit,water_level_m,by,date\nA,a.1.loss,2.5,dB,3.5,J. Doe,\n",
            terrain="label,distance_m,ground_m,surface\nhop,0,9,\nhop,10,1,Lower-lake\nhop,90,9,\n",
        ),
        catalog,
    )
    lake = design.waters["Lower Lake"]
    assert (lake.kind, lake.low_m, lake.high_m, lake.wave_height_m) == ("fresh", 3, 5, 0)
    assert [row.route for row in design.segments] == ["buried", None]
    assert design.segments[1].surface == "Lower Lake"
    assert design.terrain["label", "hop"].surface.tolist() == ["land", "Lower Lake", "land"]
    assert design.accepted[0].reason == "short run"
    assert design.accepted[0].at("by") == "accepted.csv:2 by"
    assert design.readings[0].value == 2.5


@pytest.mark.parametrize(
    ("tables", "message"),
    [
        ({"segments": SEGMENTS + HOP}, "segments.csv:2 surface: found 'lower lake'; needed land"),
        (
            {"segments": SEGMENTS + RUN, "waters": WATERS + "sea,sea,0,1,\n"},
            "waters.csv:3 water: found 'sea'; needed a name of its own",
        ),
        (
            {"segments": SEGMENTS + RUN, "waters": WATERS.replace("3,5", "5,3")},
            "waters.csv:2 low_m: found '5'; needed at most high_m, 3",
        ),
        (
            {"segments": SEGMENTS + RUN, "accepted": "check,path,by,reason\nsurge,b,x,y\n"},
            "accepted.csv:2 path: found the path 'b'",
        ),
        (
            {"segments": SEGMENTS + RUN, "accepted": "check,path,by,reason\nsurge,a,,\n"},
            "accepted.csv:2 by: found a blank",
        ),
        (
            {
                "segments": SEGMENTS + RUN,
                "sites": "site\nA\nB\n",
                "readings": "site,reading,value\nD,x,1\n",
            },
            "readings.csv:2 site: found the site 'D'",
        ),
    ],
)
def test_what_new_tables_refuse(tables, message, folder, catalog):
    with pytest.raises(InputError) as caught:
        read_design(folder(**tables), catalog)
    assert message in str(caught.value)
