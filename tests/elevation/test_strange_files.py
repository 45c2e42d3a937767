"""Files as strangers send them: other projections, datums, units, no data, seams; a plane of latitude and
longitude is its own interpolation, so that each level along the hop is known by hand."""

import numpy as np
import pytest
from elevation_files import write_hgt, write_hop, write_tif
from geographiclib.geodesic import Geodesic

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.elevation.doubts import BANKS_M, BELOW_M, STEPS_DOWN_M, TALL_M, doubtful
from backhaul.elevation.files import open_files
from backhaul.elevation.profiles import Files, fill_terrain
from backhaul.errors import InputError

rasterio = pytest.importorskip("rasterio", reason="rasterio is not installed: backhaul[terrain]")
warp = pytest.importorskip("rasterio.warp")

CATALOG = load_catalog(())
SEA, CITY = ((51.0, -20.0), (51.03, -19.95)), ((40.7, -74.0), (40.73, -73.95))


def plane(first):
    def level(latitude, longitude):
        turn = np.remainder(longitude - first[1] + 180, 360) - 180
        return 300 + 2000 * (latitude - first[0]) + 1500 * turn

    return level


def raster(path, crs, surface, hop, step, *, pad=20, dtype="float32", south_up=False, **more):
    """A raster of a surface of latitude and longitude in any system, around a hop."""
    (lat1, lon1), (lat2, lon2) = hop
    xs, ys = warp.transform("EPSG:4326", crs, [lon1, lon2], [lat1, lat2])
    left, top = min(xs) - pad * step, max(ys) + pad * step
    columns = int((max(xs) - left) / step) + pad
    rows = int((top - min(ys)) / step) + pad
    x, y = np.meshgrid(
        left + (np.arange(columns) + 0.5) * step, top - (np.arange(rows) + 0.5) * step
    )
    longitude, latitude = map(np.array, warp.transform(crs, "EPSG:4326", x.ravel(), y.ravel()))
    levels = surface(latitude, longitude).reshape(x.shape).astype(dtype)
    if south_up:
        levels = levels[::-1]
        more["transform"] = rasterio.Affine(step, 0, left, 0, step, top - rows * step)
    return write_tif(path, levels, left=left, top=top, step=step, crs=crs, **more)


def filled(folder, hop, files, **more):
    design = read_design(write_hop(folder / "d", *hop), CATALOG)
    for name in ("top", "mask"):
        if name in more:
            more[name] = open_files([more[name]], levels=name == "top")
    (profile,) = fill_terrain(design, Files(open_files(files), **more)).profiles
    return profile


def off_m(profile, hop, surface):
    """How far the levels lie from the surface at the places that GeographicLib gives."""
    line = Geodesic.WGS84.InverseLine(*hop[0], *hop[1])
    places = [line.Position(at) for at in profile.terrain.distance_m]
    latitude, longitude = (np.array([p[n] for p in places]) for n in ("lat2", "lon2"))
    off = np.abs(profile.terrain.ground_m - surface(latitude, longitude))
    return float(off[profile.terrain.surface == "land"].max())


def said(profile, severity):
    return [r.text for r in profile.remarks if r.severity == severity and "blank" not in r.text]


@pytest.mark.parametrize(
    ("crs", "step", "hop", "ground_m"),
    [
        ("EPSG:32627", 30, SEA, 30.0),
        ("EPSG:3857", 30, SEA, 30 * 0.629),  # the map is 1/cos(latitude) of the ground
        ("EPSG:3035", 25, SEA, 24.8),
        ("EPSG:4258", 1 / 3600, SEA, 19.5),
        ("EPSG:4269", 1 / 3600, CITY, 23.4),
        ("EPSG:4267", 1 / 3600, CITY, 23.4),  # another ellipsoid, shifted by the library
        ("EPSG:2263", 100, CITY, 30.48),  # in feet
    ],
)
def test_projections_and_datums(crs, step, hop, ground_m, tmp_path):
    """The step is that of the cells on the ground, whatever unit the map has."""
    level = plane(hop[0])
    more = {"tags": None}
    file = raster(tmp_path / "g.tif", crs, level, hop, step, **more)
    with rasterio.open(file, "r+") as raw:
        raw.units = ("m",)
    profile = filled(tmp_path, hop, [file])
    assert off_m(profile, hop, level) < 0.1
    assert profile.step_m == pytest.approx(ground_m, rel=0.02)
    assert np.diff(profile.terrain.distance_m).max() <= ground_m * 1.02
    assert not said(profile, "thin")


def test_rows_that_run_northwards(tmp_path):
    level = plane(SEA[0])
    file = raster(tmp_path / "g.tif", "EPSG:32627", level, SEA, 30, south_up=True)
    assert off_m(filled(tmp_path, SEA, [file]), SEA, level) < 0.1


@pytest.mark.parametrize(
    ("unit", "metres"), [("ft", 0.3048), ("US survey foot", 1200 / 3937), ("m", 1)]
)
def test_levels_in_feet(unit, metres, tmp_path):
    level = plane(CITY[0])
    file = raster(tmp_path / "g.tif", "EPSG:2263", lambda *at: level(*at) / metres, CITY, 100)
    with rasterio.open(file, "r+") as raw:
        raw.units = (unit,)
    profile = filled(tmp_path, CITY, [file])
    assert off_m(profile, CITY, level) < 0.15 and not said(profile, "thin")


def test_a_map_in_feet_whose_levels_have_no_unit_is_doubted(tmp_path):
    file = raster(tmp_path / "g.tif", "EPSG:2263", plane(CITY[0]), CITY, 100)
    (text,) = said(filled(tmp_path, CITY, [file]), "thin")
    assert "US survey foot" in text and "taken as metres" in text


@pytest.mark.parametrize(
    "hop",
    [
        ((10.5, 179.98), (10.52, -179.98)),
        ((-17.02, 179.99), (-16.98, -179.99)),
        ((-33.02, 18.98), (-32.98, 19.02)),
        ((51.5, -0.02), (51.52, 0.02)),
        ((-0.02, 10.5), (0.02, 10.52)),
    ],
)
def test_tiles_at_the_edges_of_hemispheres(hop, tmp_path):
    level = plane(hop[0])
    corners = set()
    turn = np.remainder(hop[1][1] - hop[0][1] + 180, 360) - 180
    for share in np.linspace(0, 1, 50):
        south = int(np.floor(hop[0][0] + share * (hop[1][0] - hop[0][0])))
        west = int(np.floor(np.remainder(hop[0][1] + share * turn + 180, 360) - 180))
        corners.add(f"{'NS'[south < 0]}{abs(south):02}{'EW'[west < 0]}{abs(west):03}")
    tiles = [write_hgt(tmp_path, corner, level) for corner in corners]
    assert off_m(filled(tmp_path, hop, tiles), hop, level) < 1.2  # whole metres, 93 m of slope


@pytest.mark.parametrize("left", [339.9, -20.1])
def test_longitudes_from_0_to_360(left, tmp_path):
    level, step = plane(SEA[0]), 1 / 1200
    latitude = 51.1 - (np.arange(240) + 0.5) * step
    longitude = left + (np.arange(360) + 0.5) * step
    levels = level(latitude[:, None], longitude[None, :]).astype("float32")
    file = write_tif(tmp_path / "g.tif", levels, left=left, top=51.1, step=step)
    assert off_m(filled(tmp_path, SEA, [file]), SEA, level) < 0.1


def test_one_file_on_both_sides_of_180_degrees(tmp_path):
    hop, step = ((10.5, 179.98), (10.52, -179.98)), 1 / 1200
    level = plane(hop[0])
    latitude = 10.6 - (np.arange(240) + 0.5) * step
    longitude = 179.9 + (np.arange(240) + 0.5) * step
    levels = level(latitude[:, None], longitude[None, :]).astype("float32")
    file = write_tif(tmp_path / "g.tif", levels, left=179.9, top=10.6, step=step)
    assert off_m(filled(tmp_path, hop, [file]), hop, level) < 0.1


def holed(value, low, high):
    def level(latitude, longitude):
        levels = plane(SEA[0])(latitude, longitude)
        levels[(latitude > 51 + low) & (latitude < 51 + high)] = value
        return levels

    return level


@pytest.mark.parametrize("value", [0, -1, -99, -9999, -32767, 3.4e38, np.nan])
@pytest.mark.parametrize(
    ("low", "high", "is_broad"), [(0.012, 0.018, True), (0.0145, 0.0155, False)]
)
def test_no_data_that_is_not_declared(value, low, high, is_broad, tmp_path):
    """A stripe of it is no ground: bridged and said where narrow, no profile where broad."""
    file = raster(tmp_path / "g.tif", "EPSG:32627", holed(value, low, high), SEA, 30)
    profile = filled(tmp_path, SEA, [file])
    if is_broad:
        assert profile.terrain is None and said(profile, "fail")
        return
    assert off_m(profile, SEA, plane(SEA[0])) < 0.1
    assert said(profile, "thin") or said(profile, "note")


def test_an_even_level_far_below_both_sides_is_asked_about(tmp_path):
    file = raster(tmp_path / "g.tif", "EPSG:32627", holed(255, 0.012, 0.018), SEA, 30)
    profile = filled(tmp_path, SEA, [file])
    (text,) = said(profile, "thin")
    assert "far under the ground on both sides" in text and profile.terrain is not None


@pytest.mark.parametrize(("down", "kind"), [(STEPS_DOWN_M, "sea"), (STEPS_DOWN_M + 0.1, "stripe")])
def test_the_sea_or_a_stripe(down, kind):
    found = doubtful(np.array([down, down, down, 0, 0, 0, down, down, down]))
    assert [name for name, places in found._asdict().items() if places.any()] == [kind]


@pytest.mark.parametrize(("down", "asked"), [(BANKS_M, False), (BANKS_M + 0.1, True)])
def test_a_lake_between_its_banks(down, asked):
    level = np.array([60.0, 60, 60, 60 - down, 60 - down, 60 - down, 60, 60, 60])
    assert doubtful(level).sunk.any() == asked
    assert not doubtful(level[:6]).sunk.any()  # a dam: on one side alone


def test_two_files_of_two_datums(tmp_path):
    level, half = plane(SEA[0]), (SEA[0], (51.015, -19.975))
    fine = raster(tmp_path / "fine.tif", "EPSG:32627", level, half, 5)
    for shift, is_said in ((30, True), (0, False)):
        coarse = raster(
            tmp_path / f"c{shift}.tif", "EPSG:32627", lambda *at, s=shift: level(*at) + s, SEA, 90
        )
        (tmp_path / str(shift)).mkdir()
        profile = filled(tmp_path / str(shift), SEA, [fine, coarse])
        assert bool(said(profile, "thin")) == is_said
        assert not is_said or "from fine.tif to c30.tif" in said(profile, "thin")[0]


def test_a_crack_between_two_files_is_a_void(tmp_path):
    level = plane(SEA[0])
    whole = raster(tmp_path / "w.tif", "EPSG:32627", level, SEA, 30)
    with rasterio.open(whole) as file:
        levels, turn = file.read(1), file.transform
    middle = levels.shape[1] // 2
    for gap, is_bridged in ((1, True), (4, False)):
        files = [
            write_tif(
                tmp_path / f"{name}{gap}.tif",
                part,
                left=turn.c + start * 30,
                top=turn.f,
                step=30,
                crs="EPSG:32627",
            )
            for name, part, start in (
                ("west", levels[:, :middle], 0),
                ("east", levels[:, middle + gap :], middle + gap),
            )
        ]
        (tmp_path / str(gap)).mkdir()
        profile = filled(tmp_path / str(gap), SEA, files)
        assert (profile.terrain is not None) == is_bridged
        assert not is_bridged or off_m(profile, SEA, level) < 0.5


@pytest.mark.parametrize(
    ("over", "words"),
    [
        (TALL_M, ""),
        (TALL_M + 1, "stands up to"),
        (-BELOW_M, ""),
        (-BELOW_M - 1, "below the ground"),
        (1200, "stands up to"),
        (None, "no level in the surface model"),
    ],
)
def test_surface_models(over, words, tmp_path):
    level = plane(SEA[0])
    ground = raster(tmp_path / "g.tif", "EPSG:32627", level, SEA, 30)
    surface = (lambda *at: level(*at) + over) if over is not None else holed(-9999, 0.01, 0.02)
    top = raster(tmp_path / "t.tif", "EPSG:32627", surface, SEA, 30)
    profile = filled(tmp_path, SEA, [ground], top=top)
    found = said(profile, "thin") + said(profile, "fail")
    assert [words in text for text in found] == ([True] if words else [])
    assert (profile.terrain is None) == (over == 1200)  # the column holds 1000 m


def test_a_mask_of_shares_and_a_class_that_is_nowhere(tmp_path):
    ground = raster(tmp_path / "g.tif", "EPSG:32627", plane(SEA[0]), SEA, 30)
    wet = raster(
        tmp_path / "m.tif", "EPSG:4326", lambda lat, lon: (lat > 51.01) * 0.5, SEA, 1 / 1200
    )
    with pytest.raises(InputError, match="whole numbers of classes"):
        filled(tmp_path, SEA, [ground], mask=wet, surfaces={1: "fresh"})
    wet = raster(
        tmp_path / "n.tif",
        "EPSG:4326",
        lambda lat, lon: (lat > 51.01) * 80,
        SEA,
        1 / 1200,
        dtype="uint8",
    )
    profile = filled(tmp_path, SEA, [ground], mask=wet, surfaces={8: "fresh"})
    assert any("class 8" in text for text in said(profile, "note"))
    profile = filled(tmp_path, SEA, [ground], mask=wet, surfaces={80: "fresh"})
    assert not said(profile, "note") and (profile.terrain.surface == "fresh").any()
