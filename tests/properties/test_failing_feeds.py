"""Where a feed or source fails, the data paths through what it feeds fail too, whatever fails there."""

import compact
import pytest

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.findings import FAIL

DATA = (
    " || d: device switch-24-1g site=B | copper cat6 5m | device {load} site=B label=s | "
    "copper cat6 5m | device workstation site=B"
)
DESIGNS = {
    # NFPA 70 240.4(D): 15 A on 14 AWG (from memory)
    "a breaker above its conductors": (
        "e: device mains-120v-20a site=A | feed awg14-3c 10m site=A to_site=B | "
        "device switch-8-1g site=B label=s" + DATA.format(load="switch-8-1g"),
        "site A | site B",
        "feed-protection",
    ),
    "a supply hotter than it stands": (
        "e: device supply-48v-240w site=A | feed 2.5mm2 5m site=A to_site=B | "
        "device switch-ind-8-1g site=B label=s" + DATA.format(load="switch-ind-8-1g"),
        "site A ambient_max_c=80 | site B ambient_max_c=20",
        "temperature",
    ),
}


@pytest.mark.parametrize("name", DESIGNS)
def test_it_takes_down_what_it_feeds(name, tmp_path):
    segments, others, check = DESIGNS[name]
    tables = {"segments": compact.segments(segments), **compact.other_tables(others)}
    catalog = load_catalog()
    design = read_design(compact.write_tables(tmp_path, tables), catalog)
    results = evaluate(design, catalog)
    failing = [f for f in results.findings if f.severity == FAIL and f.check == check]
    assert failing
    assert all(set(each.paths) == {"e", "d"} for each in failing)
    assert results.path_verdicts["d"] == FAIL
