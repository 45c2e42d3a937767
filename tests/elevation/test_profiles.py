"""Profiles from files of known surfaces. Expected levels are the surface's own formula at places
that GeographicLib puts on the geodesic; projections are PROJ's (by pyproj); the open sample set is
the elevation model that matplotlib's package carries, interpolated by scipy."""

import zipfile

import numpy as np
import pytest
from elevation_files import sine_hills, surface_tif, write_hgt, write_hop, write_tables, write_tif
from geographiclib.geodesic import Geodesic

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.elevation.files import open_files
from backhaul.elevation.profiles import MOST_ROWS, Files, fill_terrain

CATALOG = load_catalog(())
#: 32-bit levels hold seven digits; rows are written in decimetres.
ROUNDED_M = 0.051


def filled(folder, *files, **more):
    design = read_design(folder, CATALOG)
    typed = {name: more.pop(name) for name in ("replace",) if name in more}
    other = {
        name: open_files([path], levels=name == "top")
        for name, path in more.items()
        if name in ("top", "mask")
    }
    rest = {name: value for name, value in more.items() if name not in other}
    return fill_terrain(design, Files(open_files(files), **other, **rest), **typed)


def on_geodesic(first, last, distance_m):
    """Latitudes and longitudes by GeographicLib."""
    line = Geodesic.WGS84.InverseLine(*first, *last)
    places = [line.Position(d) for d in distance_m]
    return (np.array([place[name] for place in places]) for name in ("lat2", "lon2"))


def test_sine_hills_across_the_border_of_two_tiles(tmp_path):
    """At 3″ a parabola of the hills' curvature stands between two cells: 0.4 m and half a metre of
    rounding to whole metres."""
    first, last = (51.995, -20.52), (52.02, -20.47)
    folder = write_hop(tmp_path / "d", first, last)
    tiles = [write_hgt(tmp_path, corner, sine_hills) for corner in ("N51W021", "N52W021")]
    (profile,) = filled(folder, *tiles).profiles
    made = profile.terrain
    length = Geodesic.WGS84.Inverse(*first, *last)["s12"]
    assert made.distance_m[0] == 0 and made.distance_m[-1] == pytest.approx(length, abs=0.01)
    cell_m = 3 / 3600 * np.pi / 180 * 6_371_000 * np.cos(np.radians(52))
    assert profile.step_m == pytest.approx(cell_m, rel=0.002)
    assert np.diff(made.distance_m).max() <= profile.step_m * 1.001
    expected = sine_hills(*on_geodesic(first, last, made.distance_m))
    assert np.abs(made.ground_m - expected).max() < 1.0
    assert set(made.sources) == {
        f"{t.name}, EGM96, as is usual in .hgt, error assumed" for t in tiles
    }


def test_a_packed_tile_is_the_tile(tmp_path):
    """As public collections hand tiles out: one in a zip file, named by its product, in folders."""
    folder = write_hop(tmp_path / "d", (51.995, -20.52), (52.02, -20.47))
    (tmp_path / "packed").mkdir()
    tiles = [write_hgt(tmp_path, corner, sine_hills) for corner in ("N51W021", "N52W021")]
    for tile in tiles:
        with zipfile.ZipFile(
            tmp_path / "packed" / f"{tile.stem}.SRTMGL3.hgt.zip", "w", zipfile.ZIP_DEFLATED
        ) as file:
            file.write(tile, tile.name)
            file.writestr(f"__MACOSX/._{tile.name}", b"x")
    (plain,), (packed,) = (
        filled(folder, *files).profiles for files in (tiles, [tmp_path / "packed"])
    )
    assert np.array_equal(plain.terrain.ground_m, packed.terrain.ground_m)
    assert (
        "N51W021.SRTMGL3.hgt.zip, EGM96, as is usual in .hgt, error assumed"
        in packed.terrain.sources
    )


def test_one_tile_alone_says_from_where_on_it_is_lacking(tmp_path):
    first, last = (51.98, -20.5), (52.02, -20.5)
    folder = write_hop(tmp_path / "d", first, last)
    (profile,) = filled(folder, write_hgt(tmp_path, "N51W021", sine_hills)).profiles
    assert profile.terrain is None
    (said,) = [r for r in profile.remarks if r.severity == "fail"]
    border = Geodesic.WGS84.Inverse(51.98, -20.5, 52.0, -20.5)["s12"]
    start, _, end = said.text.split(" m:")[0].partition(" to ")
    # the border's own row belongs to the tile; the next step is outside
    assert border <= float(start) <= border + profile.step_m + 46.5  # half a cell of the tile
    assert float(end) == round(Geodesic.WGS84.Inverse(*first, *last)["s12"])
    assert "N51W021.hgt and N52W021.hgt" in said.text


def test_a_void_is_bridged_where_it_is_narrow_and_said(tmp_path):
    first, last = (51.3, -20.6), (51.3, -20.4)

    def holed(width):
        def surface(latitude, longitude):
            hole = (np.abs(longitude + 20.5) < width) & (latitude > 0)
            return np.where(hole, np.nan, 100.0 + 0 * latitude)

        return surface

    folder = write_hop(tmp_path / "d", first, last)
    tile = write_hgt(tmp_path, "N51W021", holed(0.002))
    (narrow,) = filled(folder, tile).profiles
    assert narrow.terrain is not None
    (said,) = [r for r in narrow.remarks if "no level" in r.text]
    start, _, end = said.text.split(" m:")[0].partition(" to ")
    middle = Geodesic.WGS84.Inverse(*first, *last)["s12"] / 2
    assert float(start) < middle < float(end) and said.severity == "note"
    assert np.diff(narrow.terrain.distance_m).max() > narrow.step_m * 2
    tile = write_hgt(tmp_path, "N51W021", holed(0.01))
    (broad,) = filled(folder, tile).profiles
    assert broad.terrain is None
    assert any(r.severity == "fail" and "no level" in r.text for r in broad.remarks)


def test_a_void_at_an_end_takes_the_level_of_the_site(tmp_path):
    def surface(latitude, longitude):
        return np.where(longitude < -20.599, np.nan, 100.0 + 0 * latitude)

    tile = write_hgt(tmp_path, "N51W021", surface)
    places = (51.3, -20.5995), (51.3, -20.4)
    (blank,) = filled(write_hop(tmp_path / "d", *places), tile).profiles
    assert blank.terrain is None
    (typed,) = filled(write_hop(tmp_path / "e", *places, ground=(97.0, 100)), tile).profiles
    assert typed.terrain.ground_m[0] == 97 and typed.terrain.source[0] is None
    assert typed.terrain.error_m[-1] == 10 and np.isnan(typed.terrain.error_m[0])


class TestGeoTiff:
    """Georeferenced rasters in any projection."""

    @pytest.fixture(autouse=True)
    def library(self):
        pytest.importorskip("rasterio", reason="rasterio is not installed: backhaul[terrain]")

    def test_a_plane_in_a_projection_is_exact(self, tmp_path):
        """A plane of x and y is its own bilinear interpolation."""
        pyproj = pytest.importorskip("pyproj", reason="pyproj puts the places into the projection")

        def plane(y, x):
            return 50 + (x - 500_000) * 0.01 + (y - 5_650_000) * 0.02

        to_utm = pyproj.Transformer.from_crs(4326, 32627, always_xy=True)
        first, last = (51.02, -20.99), (51.045, -20.93)
        left, top = 500_000, 5_662_000
        file = surface_tif(
            tmp_path / "p.tif",
            plane,
            left=left,
            top=top,
            step=25,
            rows=400,
            columns=300,
            crs="EPSG:32627",
        )
        (profile,) = filled(write_hop(tmp_path / "d", first, last), file).profiles
        made = profile.terrain
        # on the central meridian of UTM the map is 0.9996 of the ground
        assert profile.step_m == pytest.approx(25 / 0.9996, rel=1e-4)
        latitude, longitude = on_geodesic(first, last, made.distance_m)
        x, y = to_utm.transform(longitude, latitude)
        assert np.abs(made.ground_m - plane(y, x)).max() < ROUNDED_M

    def test_files_of_one_grid_are_one_surface(self, tmp_path):
        """Two files that only touch: between the last cell of one and the first of the other."""
        step = 1 / 1200

        def plane(y, x):
            return 1000 * (y - 51) + 500 * (x + 20.5)

        options = dict(top=51.5, step=step, rows=400, columns=200)
        left = surface_tif(tmp_path / "w.tif", plane, left=-20.5, **options)
        right = surface_tif(tmp_path / "e.tif", plane, left=-20.5 + 200 * step, **options)
        first, last = (51.30, -20.40), (51.36, -20.26)
        (profile,) = filled(write_hop(tmp_path / "d", first, last), left, right).profiles
        latitude, longitude = on_geodesic(first, last, profile.terrain.distance_m)
        assert np.abs(profile.terrain.ground_m - plane(latitude, longitude)).max() < ROUNDED_M
        assert profile.terrain.sources == ("w.tif, error assumed", "e.tif, error assumed")

    def test_a_sphere_to_the_step_of_the_raster(self, tmp_path):
        """Of a sphere of radius r a chord of a cell s misses s²/(8 r): 900/8000 in each way."""
        radius, step = 1000.0, 30.0

        def dome(y, x):
            return np.sqrt(radius**2 - (x - 500_000) ** 2 - (y - 5_650_000) ** 2)

        pyproj = pytest.importorskip("pyproj", reason="pyproj puts the places into the projection")
        to_utm = pyproj.Transformer.from_crs(4326, 32627, always_xy=True)
        back = pyproj.Transformer.from_crs(32627, 4326, always_xy=True)
        places = [
            back.transform(500_000 + x, 5_650_000 + y)[::-1] for x, y in ((-600, -300), (600, 350))
        ]
        file = surface_tif(
            tmp_path / "s.tif",
            dome,
            left=499_280,
            top=5_650_720,
            step=step,
            rows=48,
            columns=48,
            crs="EPSG:32627",
        )
        (profile,) = filled(write_hop(tmp_path / "d", *places), file).profiles
        latitude, longitude = on_geodesic(*places, profile.terrain.distance_m)
        x, y = to_utm.transform(longitude, latitude)
        low = dome(y, x) - profile.terrain.ground_m  # chords lie inside
        # steeper than at the top: 1/(1 - 0.48) in curvature at 0.7 of the radius, squared and more
        assert low.min() > -ROUNDED_M and low.max() < 2 * step**2 / (8 * radius) * 4

    def test_an_open_sample_set(self, tmp_path):
        """The elevation model in matplotlib's package (Jacksboro fault, open data)."""
        cbook = pytest.importorskip("matplotlib.cbook", reason="its package carries the set")
        scipy = pytest.importorskip("scipy.interpolate", reason="scipy is the reference")
        with cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
            levels = np.asarray(data["elevation"])
            west, south, north = (float(data[name]) for name in ("xmin", "ymin", "ymax"))
        step = (north - south) / levels.shape[0]
        file = write_tif(tmp_path / "j.tif", levels, left=west, top=north, step=step)
        middle = south + (north - south) / 2, west + step * levels.shape[1] / 2
        first, last = (middle[0] - 0.05, middle[1] - 0.1), (middle[0] + 0.08, middle[1] + 0.07)
        (profile,) = filled(write_hop(tmp_path / "d", first, last), file).profiles
        made = profile.terrain
        rows = north - (np.arange(levels.shape[0]) + 0.5) * step
        columns = west + (np.arange(levels.shape[1]) + 0.5) * step
        between = scipy.RegularGridInterpolator((rows[::-1], columns), levels[::-1].astype(float))
        latitude, longitude = on_geodesic(first, last, made.distance_m)
        expected = between(np.column_stack((latitude, longitude)))
        assert np.abs(made.ground_m - expected).max() < 0.06
        assert np.ptp(expected) > 100  # hills, so that a place beside would be seen

    def test_levels_in_feet(self, tmp_path):
        for name, crs, foot in (
            ("ft", "EPSG:4326+8228", 0.3048),
            ("us", "EPSG:4326+6360", 12 / 39.37),
        ):
            file = surface_tif(
                tmp_path / f"{name}.tif",
                lambda y, x: 1000 + 0 * y + 0 * x,
                left=-20.5,
                top=51.5,
                step=1 / 1200,
                rows=300,
                columns=300,
                crs=crs,
            )
            folder = write_hop(tmp_path / name, (51.3, -20.4), (51.32, -20.4))
            (profile,) = filled(folder, file).profiles
            assert profile.terrain.ground_m == pytest.approx(1000 * foot, abs=ROUNDED_M)

    def test_datum_and_accuracy_are_those_of_the_file(self, tmp_path):
        options = dict(left=-20.5, top=51.5, step=1 / 1200, rows=300, columns=300)
        folder = write_hop(tmp_path / "d", (51.3, -20.4), (51.32, -20.4))
        flat = lambda y, x: 100 + 0 * y + 0 * x  # noqa: E731
        stated = surface_tif(
            tmp_path / "a.tif",
            flat,
            crs="EPSG:4326+3855",
            tags={"VERTICAL_ACCURACY": "LE90 4.5 m"},
            **options,
        )
        (profile,) = filled(folder, stated, error_m=7.0).profiles
        assert profile.terrain.sources == ("a.tif, EGM2008 height",)
        assert set(profile.terrain.error_m) == {4.5}
        silent = surface_tif(tmp_path / "b.tif", flat, **options)
        (profile,) = filled(folder, silent, error_m=7.0).profiles
        assert profile.terrain.sources == ("b.tif",)
        assert set(profile.terrain.error_m) == {7.0}

    def test_of_a_fine_raster_the_highest_of_each_stretch_stays(self, tmp_path):
        step, rows = 0.00001, 4000
        levels = np.full((rows, 40), 100, dtype="int16")
        levels[1234, :] = 140  # a wall of one cell
        file = write_tif(tmp_path / "f.tif", levels, left=-20.5, top=51.5, step=step)
        middle = -20.5 + 20 * step
        first, last = (51.5 - 2 * step, middle), (51.5 - (rows - 2) * step, middle)
        (profile,) = filled(write_hop(tmp_path / "d", first, last), file).profiles
        assert MOST_ROWS <= len(profile.terrain.distance_m) <= MOST_ROWS + 2
        assert profile.terrain.ground_m.max() == pytest.approx(140, abs=25)
        assert profile.terrain.ground_m.max() > 120

    def test_cover_is_the_surface_model_less_the_ground(self, tmp_path):
        options = dict(left=-20.5, top=51.5, step=1 / 1200, rows=300, columns=300)
        ground = surface_tif(tmp_path / "g.tif", lambda y, x: 100 + 0 * y + 0 * x, **options)
        wood = surface_tif(
            tmp_path / "w.tif",
            lambda y, x: np.where(np.abs(y - 51.31) < 0.003, 118.5, 99.0) + 0 * x,
            **options,
        )
        folder = write_hop(tmp_path / "d", (51.3, -20.4), (51.32, -20.4))
        made = filled(folder, ground, top=wood).profiles[0].terrain
        latitude, _ = on_geodesic((51.3, -20.4), (51.32, -20.4), made.distance_m)
        inside, outside = (np.abs(latitude - 51.31) < 0.002), (np.abs(latitude - 51.31) > 0.004)
        assert set(made.cover_m[inside]) == {18.5} and set(made.cover_m[outside]) == {0.0}

    def test_a_mask_sets_the_surface(self, tmp_path):
        options = dict(left=-20.5, top=51.5, step=1 / 1200)
        rows = np.arange(300)[:, None] + np.zeros((1, 300), int)
        ground = write_tif(tmp_path / "g.tif", np.full((300, 300), 100, "int16"), **options)
        lake = np.where((rows > 200) & (rows < 230), 80, 10).astype("uint8")
        mask = write_tif(tmp_path / "m.tif", lake, **options)
        first, last = (51.3, -20.4), (51.345, -20.4)
        folder = write_hop(tmp_path / "d", first, last)
        made = filled(folder, ground, mask=mask, surfaces={80: "fresh"}).profiles[0].terrain
        surfaces = made.surface.tolist()
        wet = [n for n, name in enumerate(surfaces) if name == "fresh"]
        assert len(wet) == 1 and np.isnan(made.ground_m[wet[0]])  # one row begins the water
        metre = Geodesic.WGS84.Inverse(51.5 - 230 / 1200, -20.4, *first)["s12"]
        assert made.distance_m[wet[0]] == pytest.approx(metre, abs=60)
        from backhaul.evaluation import evaluate

        (folder / "project.csv").write_text("setting,value\nwater_high_m,99\nwater_low_m,98\n")
        done = filled(folder, ground, mask=mask, surfaces={80: "fresh"})
        evaluated = evaluate(done.design, CATALOG)
        (crossed,) = evaluated.radio.hops.ground.under
        assert evaluated.radio.hops.ground.bodies[crossed[0]].kind == "fresh"

    def test_many_hops_at_once_are_each_as_alone(self, tmp_path):
        tile = write_hgt(tmp_path, "N51W021", sine_hills)
        places = [
            ((51.2 + 0.01 * n, -20.9 + 0.03 * n), (51.25 + 0.012 * n, -20.88)) for n in range(9)
        ]
        sites = [
            {"site": f"{end}{n}", "latitude": at[0], "longitude": at[1]}
            for n, both in enumerate(places)
            for end, at in zip("AB", both)
        ]
        rows = [
            {
                "path": f"p{n}",
                "step": 1,
                "kind": "radio",
                "part": "radio-60ghz-int",
                "site": f"A{n}",
                "to_site": f"B{n}",
            }
            for n in range(9)
        ]
        parts = sorted(part for part in CATALOG.radios if part.startswith("radio-60"))
        rows = [{**row, "part": parts[0]} for row in rows]
        together = filled(write_tables(tmp_path / "all", sites=sites, segments=rows), tile)
        for n, both in enumerate(places):
            (alone,) = filled(write_hop(tmp_path / f"one{n}", *both), tile).profiles
            assert together.profiles[n].terrain.ground_m.tolist() == alone.terrain.ground_m.tolist()
