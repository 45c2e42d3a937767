"""What cannot be used as an elevation file: each a message that names the file, nothing written."""

import os
import warnings
import zipfile

import numpy as np
import pytest
from elevation_files import sine_hills, write_hgt, write_hop, write_tif
from typer.testing import CliRunner

from backhaul.cli import app
from backhaul.errors import InputError

FIRST, LAST = (51.3, -20.4), (51.32, -20.4)
GRID = dict(left=-20.5, top=51.5, step=1 / 1200)
FLAT = np.full((300, 300), 100, dtype="int16")


@pytest.fixture
def folder(tmp_path):
    return write_hop(tmp_path / "design", FIRST, LAST)


@pytest.fixture
def refused(tmp_path, folder):
    """What is said of a run that must end with status 2, and write nothing."""

    def call(*words, design=folder):
        out = tmp_path / "out"
        done = CliRunner().invoke(app, [str(w) for w in ("terrain", design, *words, "-o", out)])
        assert isinstance(done.exception, InputError), done.output
        assert not out.exists()
        return str(done.exception)

    return call


def test_files_that_are_none(refused, tmp_path):
    assert "nowhere.tif: found no such file" in refused("-e", tmp_path / "nowhere.tif")
    (tmp_path / "empty").mkdir()
    assert "a folder without one" in refused("-e", tmp_path / "empty")
    short = tmp_path / "N51W021.hgt"
    short.write_bytes(bytes(1000))
    assert "1000 bytes" in refused("-e", short)
    named = tmp_path / "hills.hgt"
    named.write_bytes(bytes(2 * 1201 * 1201))
    assert "south-west corner" in refused("-e", named)


def test_rasters_that_are_no_levels(refused, tmp_path):
    path = write_tif(tmp_path / "a.tif", FLAT.astype("complex64"), **GRID)
    assert "complex numbers" in refused("-e", path)
    path = write_tif(tmp_path / "b.tif", FLAT, **GRID)
    virtual = tmp_path / "v.tif"  # names other files, or what lies on a network
    virtual.write_text(
        '<VRTDataset rasterXSize="300" rasterYSize="300"><SRS>EPSG:4326</SRS>'
        "<GeoTransform>-20.5, 0.00083, 0, 51.5, 0, -0.00083</GeoTransform>"
        f'<VRTRasterBand dataType="Int16" band="1"><SimpleSource><SourceFilename>{path}'
        "</SourceFilename><SourceBand>1</SourceBand></SimpleSource></VRTRasterBand></VRTDataset>"
    )
    assert "no raster" in refused("-e", virtual)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes of POSIX")
@pytest.mark.parametrize("name", ["N51W021.hgt", "a.tif", "N51W021.hgt.zip"])
def test_a_pipe_is_not_waited_for(name, refused, tmp_path):
    os.mkfifo(tmp_path / name)
    assert "no regular file" in refused("-e", tmp_path / name)


@pytest.mark.parametrize("error_m", ["nan", "inf", "-1", "500.001", "1e308"])
def test_an_error_that_is_none(error_m, refused, tmp_path):
    path = write_tif(tmp_path / "a.tif", FLAT, **GRID)
    assert "--error-m: found" in refused("-e", path, "--error-m", error_m)


def zipped(path, *members, packing=zipfile.ZIP_DEFLATED):
    with zipfile.ZipFile(path, "w", packing) as file:
        for name, data in members:
            file.writestr(name, data)
    return path


TILE = bytes(2 * 1201 * 1201)


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ([], "no .hgt tiles in it"),
        ([("readme.txt", b"x")], "no .hgt tiles in it"),
        ([("N51W021.hgt", TILE), ("N52W021.hgt", TILE)], "2 .hgt tiles in it"),
        ([("N51W021.hgt", bytes(1000))], "1000 bytes in N51W021.hgt"),
        ([("N51W021.hgt", bytes(10**8))], "100000000 bytes"),  # a bomb is never inflated
        ([("hills.hgt", TILE)], "a name without its corner in hills.hgt"),
        ([(f"{n}.txt", b"") for n in range(101)], "a zip file of 101 files"),
    ],
)
def test_zip_files_that_are_no_tile(members, said, refused, tmp_path):
    assert said in refused("-e", zipped(tmp_path / "N51W021.hgt.zip", *members))


def test_zip_files_that_are_broken(refused, tmp_path):
    path = zipped(tmp_path / "N51W021.hgt.zip", ("N51W021.hgt", TILE))
    whole = path.read_bytes()
    path.write_bytes(whole[:-30])
    assert "no zip file" in refused("-e", path)
    path.write_bytes(bytes([*whole[:200], *[byte ^ 255 for byte in whole[200:400]], *whole[400:]]))
    assert "N51W021.hgt.zip: found" in refused("-e", path)
    zipped(path, ("N51W021.hgt", TILE), packing=zipfile.ZIP_BZIP2)
    assert "packed in a way that is not usual" in refused("-e", path)


def test_all_problems_at_once(refused, tmp_path):
    said = refused("-e", tmp_path / "one.tif", "-e", tmp_path / "two.hgt")
    assert "one.tif" in said and "two.hgt" in said


def test_the_wrong_tile_says_which_one_is_needed(refused, tmp_path):
    said = refused("-e", write_hgt(tmp_path, "N40E010", sine_hills))
    assert "N40E010.hgt: found latitudes 40.00 to 41.00" in said
    assert "N51W021.hgt" in said and "P step 1" in said


def test_without_the_library(refused, tmp_path, monkeypatch):
    (tmp_path / "a.tif").write_bytes(b"II*\0")
    monkeypatch.setitem(__import__("sys").modules, "rasterio", None)
    assert "pip install 'backhaul[terrain]'" in refused("-e", tmp_path / "a.tif")


class TestRasters:
    @pytest.fixture(autouse=True)
    def library(self):
        pytest.importorskip("rasterio", reason="rasterio is not installed: backhaul[terrain]")

    def test_no_raster(self, refused, tmp_path):
        (tmp_path / "text.tif").write_text("no raster")
        assert "text.tif: found no raster" in refused("-e", tmp_path / "text.tif")

    def test_without_georeference(self, refused, tmp_path):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the writer's own
            file = write_tif(
                tmp_path / "g.tif", FLAT, left=0, top=0, step=1, crs=None, transform=None
            )
        assert "no georeference" in refused("-e", file)

    def test_degrees_without_a_datum(self, refused, tmp_path):
        file = write_tif(tmp_path / "d.tif", FLAT, crs=None, **GRID)
        said = refused("-e", file)
        assert "degrees without a datum" in said and "--crs EPSG:4326" in said
        unknown = 'GEOGCS["x",DATUM["unknown",SPHEROID["s",6378137,298.25]],PRIMEM["g",0],UNIT["degree",0.0174532925199433]]'
        file = write_tif(tmp_path / "u.tif", FLAT, crs=unknown, **GRID)
        assert "degrees without a datum" in refused("-e", file)

    def test_a_reference_that_is_none(self, refused, tmp_path):
        file = write_tif(tmp_path / "d.tif", FLAT, crs=None, **GRID)
        assert "--crs: found 'EPSG:99'" in refused("-e", file, "--crs", "EPSG:99")

    def test_a_picture(self, refused, tmp_path):
        import rasterio

        with rasterio.open(
            tmp_path / "rgb.tif",
            "w",
            driver="GTiff",
            width=4,
            height=4,
            count=3,
            dtype="uint8",
            crs="EPSG:4326",
            transform=rasterio.Affine(1, 0, -21, 0, -1, 52),
        ) as file:
            file.write(np.zeros((3, 4, 4), "uint8"))
        assert "3 bands, a picture" in refused("-e", tmp_path / "rgb.tif")

    def test_turned(self, refused, tmp_path):
        import rasterio

        file = write_tif(
            tmp_path / "t.tif",
            FLAT,
            **GRID,
            transform=rasterio.Affine(0.001, 0.0005, -20.5, 0.0005, -0.001, 51.5),
        )
        assert "turned against its axes" in refused("-e", file)

    def test_a_mask_whose_classes_nobody_explains(self, refused, tmp_path):
        ground = write_tif(tmp_path / "g.tif", FLAT, **GRID)
        mask = write_tif(tmp_path / "m.tif", (FLAT - 60).astype("uint8"), **GRID)
        said = refused("-e", ground, "--mask", mask)
        assert "the classes 40 under the hops" in said and "--surface 80=fresh" in said
        said = refused("-e", ground, "--mask", mask, "--surface", "40=lava")
        assert "'40=lava'" in said and "land" in said

    def test_of_a_huge_file_only_the_window_is_read(self, tmp_path, folder):
        """10 GB by its head, sparse on the disk: no more is held than a hop needs."""
        import rasterio

        side = 72_000  # 1" over 20 degrees, 16 bits
        file = tmp_path / "huge.tif"
        with rasterio.open(
            file,
            "w",
            driver="GTiff",
            width=side,
            height=side,
            count=1,
            dtype="int16",
            crs="EPSG:4326",
            tiled=True,
            blockxsize=256,
            blockysize=256,
            sparse_ok=True,
            BIGTIFF="YES",
            transform=rasterio.Affine(1 / 3600, 0, -30, 0, -1 / 3600, 60),
        ) as made:
            made.write(
                np.full((512, 512), 77, "int16"), 1, window=((31_100, 31_612), (34_400, 34_912))
            )
        assert side * side * 2 > 10e9 and file.stat().st_size < 20e6
        import tracemalloc

        from backhaul.api import read_design
        from backhaul.elevation.files import open_files
        from backhaul.elevation.profiles import Files, fill_terrain

        tracemalloc.start()
        (profile,) = fill_terrain(read_design(folder), Files(open_files([file]))).profiles
        _, peak = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert profile.terrain.ground_m.tolist() == [77.0] * len(profile.terrain.ground_m)
        assert peak < 50e6


def test_a_hop_without_coordinates_is_said(tmp_path):
    folder = write_hop(tmp_path / "d", FIRST, (None, None))
    tile = write_hgt(tmp_path, "N51W021", sine_hills)
    done = CliRunner().invoke(app, ["terrain", str(folder), "-e", str(tile)])
    assert done.exit_code == 1 and "no coordinates of B" in done.output
