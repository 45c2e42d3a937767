"""Legal but heavy: what is computed in parts is what it is at once, and memory grows by little."""

import csv
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from backhaul.budgets import hop_modes, hop_rates, radio_reuse, reflection_remedies
from backhaul.budgets.reflection_remedies import upper_hull
from backhaul.budgets.shores import _is_seen
from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import Evaluator, evaluate
from backhaul.physics import reflection, water_strips
from backhaul.remedies import proof, trial
from backhaul.remedies.proof import NOT_TRIED
from backhaul.tables import columnwise

ROOT = Path(__file__).parents[2]
EARTH_KM = 6371.0
CLIMATE = {"ground_m": 10, "outdoor": "yes", "rain_rate_mm_h": 30, "dn1": -250}


def write(folder: Path, name: str, rows) -> None:
    folder.mkdir(exist_ok=True)
    rows = list(rows)
    with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def rows_of(name: str, part: str) -> list[dict]:
    with (ROOT / "catalogs" / f"{name}.csv").open(newline="", encoding="utf-8") as stream:
        return [row for row in csv.DictReader(stream) if part in row["part"].split(";")]


def hops(folder: Path, count: int, radio: str) -> Path:
    antenna = next(name for name in load_catalog().antennas if "5ghz" in name)
    write(
        folder,
        "segments",
        (
            {"path": f"h{n}", "step": 1, "kind": "radio", "part": radio, "site": f"A{n}",
             "to_site": f"B{n}", "height_m": 20, "to_height_m": 20, "frequency_ghz": 5.5,
             "channel_mhz": 20, "antenna": antenna, "label": f"hop{n}"}
            for n in range(count)
        ),
    )  # fmt: skip
    write(
        folder,
        "sites",
        (
            {"site": f"{end}{n}", "latitude": 51 + shift + n / 10, "longitude": -20, **CLIMATE}
            for n in range(count)
            for end, shift in (("A", 0), ("B", 0.05))
        ),
    )
    return folder


def own_modes(folder: Path, count: int):
    """A catalogue with a radio of so many modes on one channel."""
    like, part = "radio-5ghz-ht-ext", {"part": "many-modes"}
    for name in ("radios", "ports"):
        write(folder, name, (row | part for row in rows_of(name, like)))
    write(
        folder,
        "radio_modes",
        (
            part
            | {"description": "invented", "channel_mhz": 20, "mode": f"M{n}", "basis": "demo"}
            | {"rate_mbps": 6 + n / 10, "sensitivity_dbm": -94 + 40 * n / count, "source": "-"}
            for n in range(count)
        ),
    )
    return load_catalog([folder])


@pytest.mark.parametrize("name", ["reservoir", "estuary"])
def test_modes_in_batches_are_those_at_once(name, monkeypatch):
    catalog = load_catalog()
    design = read_design(ROOT / "demo" / name, catalog)
    whole = evaluate(design, catalog, seek=False)
    for module in (hop_modes, hop_rates):
        monkeypatch.setattr(module, "MODES_AT_ONCE", 7)
    parts = evaluate(design, catalog, seek=False)
    assert list(whole.radio.modes) == list(parts.radio.modes)
    for key, column in whole.radio.modes.items():
        np.testing.assert_array_equal(column, parts.radio.modes[key], err_msg=key)
    for one, two in zip(whole.performance.hops, parts.performance.hops, strict=True):
        if not isinstance(one, hop_rates.UserRates):
            np.testing.assert_array_equal(one, two)
    assert whole.findings == parts.findings


def test_memory_grows_by_little_a_mode(tmp_path, monkeypatch):
    """Seven figures, a name and a direction are kept a mode; all between comes in batches."""
    design_of = hops(tmp_path / "d", 10, "many-modes")
    for module in (hop_modes, hop_rates):
        monkeypatch.setattr(module, "MODES_AT_ONCE", 500)
    peaks = []
    for number, count in enumerate((200, 200, 700)):  # once for what is loaded at first
        catalog = own_modes(tmp_path / f"c{number}", count)
        design = read_design(design_of, catalog)
        tracemalloc.start()
        evaluation = evaluate(design, catalog, seek=False)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert len(evaluation.radio.modes["direction"]) == 20 * count
    assert (peaks[2] - peaks[1]) / (20 * 500) < 8 * 8 + 4 + 32


def test_lines_of_modes_that_few_ask_for_come_when_asked(monkeypatch):
    catalog = load_catalog()
    design = read_design(ROOT / "demo" / "estuary", catalog)
    asked = []
    whole = hop_modes._outages
    monkeypatch.setattr(hop_modes, "_outages", lambda *a: asked.append(1) or whole(*a))
    modes = evaluate(design, catalog, seek=False).radio.modes
    once = len(asked)
    list(map(modes.__getitem__, hop_modes._KEPT))
    assert len(asked) == once
    assert modes["outage_minutes"].shape == modes["margin_db"].shape
    assert len(asked) == 2 * once
    list(map(modes.__getitem__, modes))
    assert len(asked) == 2 * once
    with pytest.raises(KeyError):
        modes["nothing"]


def test_only_maps_that_are_wanted_are_read(monkeypatch):
    climate = pytest.importorskip("backhaul.budgets.climate")
    if not climate.climate_package_is_installed():
        pytest.skip("no maps")
    read = []
    monkeypatch.setattr(climate, "_KEPT", {})
    monkeypatch.setattr(
        climate, "_from_map", lambda name, north, _: read.append(name) or [1.0] * len(north)
    )
    design = read_design(ROOT / "demo" / "estuary", load_catalog())
    sites = {
        name: site._replace(rain_rate_mm_h=30, dn1=-300, temperature_c=10, vapour_g_m3=None)
        for name, site in design.sites.items()
    }
    evaluate(design._replace(sites=sites), load_catalog(), seek=False)
    assert read == ["vapour_g_m3"]


def test_heights_are_tried_in_little_memory(monkeypatch):
    """Changes of both heights over a hull of very many points: a row of changes at once."""
    count = 20_000
    x = np.linspace(0, 1, count)
    monkeypatch.setattr(
        reflection_remedies, "upper_hull", lambda share, short: (x, -1.0 - x * (1 - x))
    )
    evaluation = evaluate(
        read_design(ROOT / "demo" / "reservoir", load_catalog()), load_catalog(), seek=False
    )
    tracemalloc.start()
    allowed = reflection_remedies._permitted(evaluation.radio.hops, 1.0, 0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    changes = reflection_remedies.CHANGES_M
    assert allowed.shape == (changes.size,) * 2
    assert peak < 6 * 8 * count * changes.size
    first, far = np.meshgrid(changes, changes, indexing="ij")  # a line is lowest over its ends
    low = np.minimum(first, far) >= -1.0
    assert allowed[low & (first >= 0) & (far >= 0)].all()
    assert not allowed[(first < -1.3) | (far < -1.3)].any()


def test_no_more_is_tried_than_memory_has_room_for(monkeypatch):
    catalog = load_catalog()
    design = read_design(ROOT / "demo" / "estuary", catalog)
    monkeypatch.setattr(proof, "MODES_TRIED", 0)
    found = evaluate(design, catalog, remedies=True)
    assert not any(finding.edits for finding in found.findings)
    assert any((finding.remedy or "").startswith(NOT_TRIED) for finding in found.findings)


def test_evaluations_are_held_for_speed_alone(monkeypatch):
    catalog = load_catalog()
    design = read_design(ROOT / "demo" / "reservoir", catalog)
    monkeypatch.setattr(trial, "MODES_HELD", 1)
    monkeypatch.setattr(radio_reuse, "MOST_MODES_HELD", 1)
    evaluator = Evaluator(catalog)
    tried = trial.Trial(design, evaluator(design), evaluator)
    paths = [frozenset(["tower"]), frozenset(["crest"])]
    first, _, again = (tried.on(paths[n], ()) for n in (0, 1, 0))
    assert tried.evaluated == 3 and first is not again
    assert first.findings == again.findings


def test_what_hides_the_water_as_ray_by_ray():
    """Each block against each leg of each ray, on the round earth, by the plain formula."""
    rng = np.random.default_rng(7)
    for _ in range(60):
        length, count, rays = rng.uniform(2, 40), rng.integers(1, 9), 12
        km = np.sort(np.append(0.0, rng.uniform(0, length, count)))
        top, floats = rng.uniform(-2, 60, km.size), rng.random(km.size) < 0.3
        ends = rng.uniform(10, 90, 2)
        k = rng.choice([0.6, 1.0, 4 / 3, 3.0], rays)
        level = rng.choice([-1.0, 0.0, 1.5], rays)
        place = np.where(rng.random(rays) < 0.1, np.nan, rng.uniform(0.01, length - 0.01, rays))
        got = _is_seen((km, top, floats, length), ends, k, level, place)
        for n in range(rays):
            seen = not np.isnan(place[n])
            for x, height, afloat in zip(km, top, floats, strict=True):
                if not seen or abs(x - place[n]) <= 0.001:
                    continue
                near, leg, end = (x, place[n], ends[0])
                if x > place[n]:
                    near, leg, end = (length - x, length - place[n], ends[1])
                ray = end + (level[n] - end) * near / leg
                ray -= 500 * near * (leg - near) / (EARTH_KM * k[n])
                seen &= height + (level[n] if afloat else 0.0) < ray
            assert got[n] == seen


def _share(begin, end, **more):
    rays = reflection.two_ray(
        distance_km=10.0, height1_m=60.0, height2_m=40.0, k_factor=np.array([0.7, 1.0, 4 / 3]),
        frequency_ghz=5.8, vertical=False, permittivity=70 - 30j,
    )  # fmt: skip
    strips = water_strips.wet_strips(
        begin_km=np.tile(begin, 3), end_km=np.tile(end, 3), count=[len(begin)] * 3, length_km=10.0
    )
    return water_strips.wet_share(
        strips=strips,
        distance1_km=rays.distance1_km,
        distance2_km=10.0 - rays.distance1_km,
        effective1_m=rays.effective1_m,
        effective2_m=rays.effective2_m,
        frequency_ghz=5.8,
        radius_km=EARTH_KM * np.array([0.7, 1.0, 4 / 3]),
        **more,
    )


def test_very_many_strips_as_few_and_in_parts(monkeypatch):
    """What is gathered reflects as what it was gathered from, and parts add up."""
    edges = np.sort(np.random.default_rng(3).uniform(3.0, 7.0, 24_000))
    begin, end = edges[::2], edges[1::2]
    exact = _share(begin, end)
    few = water_strips.fewer_strips(begin_km=begin, end_km=end, length_km=10.0)
    assert len(few[0]) < 2_000 and (few[0][1:] >= few[1][:-1] - 1e-12).all()
    np.testing.assert_allclose(_share(*few), exact, atol=2e-3)
    monkeypatch.setattr(water_strips, "PAIRS_AT_ONCE", 100)
    np.testing.assert_allclose(_share(begin, end), exact, rtol=1e-12)
    seen = _share(begin, end, seen=lambda point, km: (km < 5.0) & (point > 0))
    assert seen[0] == 0 and abs(seen[1]) > 0


def test_a_line_over_the_hull_is_over_all():
    rng = np.random.default_rng(1)
    for _ in range(200):
        x = np.sort(rng.uniform(0, 1, rng.integers(1, 40)))
        y = np.round(rng.normal(0, 1, x.size), 1)
        hull = upper_hull(x, y)
        for a, b in rng.normal(0, 2, (20, 2)):
            over = [(a + b * p > q).all() for p, q in ((x, y), hull)]
            assert over[0] == over[1]


def test_what_is_wrong_is_kept_in_few_bytes():
    faults, plain = columnwise.Faults(), {}
    for place in (0, 3, 4, 9, 1000):
        faults.add(place, columnwise.UNREAD)
        plain[place] = columnwise.UNREAD
    assert dict(faults) == plain and len(faults) == 5
    assert [place in faults for place in (0, 1, 4, 1001)] == [True, False, True, False]
    assert faults.get(5) is None


def test_memory_of_a_table_of_junk_grows_by_little(tmp_path):
    """250,000 rows of ten unusable cells: some 300 MB in all, most of it their text."""
    catalog = load_catalog()
    heads = "path,step,kind,part,length_m,site,to_site,label,count,height_m\n"
    peaks = []
    for rows in (2_000, 10_000):
        lines = (
            f"p {n},s{n},k{n},part{n},{n} m,S{n},T{n},l{n},{n}.5,{n} ft\n" for n in range(rows)
        )
        (tmp_path / "segments.csv").write_text(heads + "".join(lines), encoding="utf-8")
        tracemalloc.start()
        with pytest.raises(Exception, match="step: found"):
            read_design(tmp_path, catalog)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert (peaks[1] - peaks[0]) / (8_000 * 10) < 130
