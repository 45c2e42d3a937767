"""Every yellow length typed beyond its reach: a verdict, not an error, and that of an evaluation anew.

Typed into the demos and into an invented design of two cameras behind a hop, whose drops are cut
at 100 m of TIA-568.2-D less their share of heat; a second engine recalculates at once.
"""

from pathlib import Path

import pytest
from small_designs import evaluated, rows
from thorough import IS_THOROUGH
from typed_books import RANK, LiveBook, accepted, anew, read

from backhaul.book.keys import safe

DEMO = Path(__file__).parents[2] / "demo"
WORDS = {"pass", "thin", "fail", "accepted", "run again"}
#: As many times as now, and metres that no drop of copper reaches; of the large demos a sample.
_BEYOND = ((1.6, 8.0), (99.0, 101.0, 320.0))
_SAMPLE = ((8.0,), (101.0,))

TWO_CAMERAS = [
    *rows(
        "a",
        "device switch-8-1g-poe-120 site=works label=SW1",
        "protector protector-copper-1g site=works",
        "copper cat6a-s-out site=works length_m=48",
        "protector protector-copper-1g-out site=works",
        "radio radio-5ghz-he-int-c5 site=works to_site=tower height_m=16 to_height_m=12 "
        "frequency_ghz=5.6 channel_mhz=40 tx_power_dbm=5 label=H1",
        "protector protector-copper-1g-out site=tower",
        "copper cat6a-s-out site=tower length_m=14 to_port=1",
        "protector protector-copper-1g-out site=tower",
        "device switch-out-4-2.5g-poe-bt-180 site=tower label=SW2",
        "protector protector-copper-1g-out site=tower",
        "copper cat6a-s-out site=tower length_m=22 port=2",
        "protector protector-copper-1g-out site=tower",
        "device camera-class6-marine site=tower",
    ),
    *rows(
        "b",
        "device switch-out-4-2.5g-poe-bt-180 site=tower label=SW2",
        "copper cat6a-s-out site=tower length_m=61 port=3",
        "device camera-class3-marine site=tower",
    ),
]
DEMAND = [
    {"path": path, "what": "stream", "up_mbps": up, "down_mbps": "0.5"}
    for path, up in (("a", "16"), ("b", "8"))
]


@pytest.fixture(scope="module", params=["two cameras", "reservoir", "estuary"])
def live(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("lengths") / request.param
    if request.param == "two cameras":
        evaluated(folder, TWO_CAMERAS, demand=DEMAND)
    else:
        accepted(folder, DEMO / request.param)
    return folder, LiveBook(read(folder))


def lengths(book: LiveBook):
    return [
        cell
        for cell in book.yellow
        if cell.sheet == "Inputs" and cell.key.endswith(".length_m") and cell.cell.value
    ]


def test_a_length_beyond_reach_is_a_verdict_and_no_error(live, tmp_path):
    folder, book = live
    tried = failed = 0
    paths = list(read(folder).network.chains)
    cells, (times, metres) = lengths(book), _BEYOND
    if "two cameras" not in folder.name and not IS_THOROUGH:
        cells, (times, metres) = cells[::2], _SAMPLE
    for number, cell in enumerate(cells):
        now = float(cell.cell.value)
        for place, value in enumerate((*(each * now for each in times), *metres)):
            if value <= now or (cell.cell.most is not None and value > cell.cell.most):
                continue
            tried += 1
            book.engine.set_value(cell.sheet, cell.row, cell.column, value)
            assert book.shown("errors.count") == 0, (cell.key, value, book.shown("errors.at"))
            answer = book.answer
            assert {str(book.shown(f"glance.{safe(path)}")) for path in paths} <= WORDS
            book.engine.set_value(cell.sheet, cell.row, cell.column, now)
            found = anew(tmp_path / f"{number}-{place}", folder, cell.key, value)
            if answer == "run again" or found is None:
                continue
            assert RANK[answer] == RANK[found], (cell.key, value, answer, found)
            failed += found == "fail"
    assert tried
    assert failed or "two cameras" not in folder.name
