"""Profiles a second, and memory, over a raster of 1 GB that is made for it and deleted.

python tests/bench/bench_terrain.py [HOPS] [--small]
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy as np
from elevation_files import HOP, write_hgt, write_tables

from backhaul.api import read_design
from backhaul.elevation.files import open_files
from backhaul.elevation.profiles import Files, fill_terrain

HOPS = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdecimal() else 200
SIDE = 16_384  # 32-bit levels: 1 GB


def district(folder: Path, seed: int = 7) -> Path:
    """Hops of 5 km, scattered over one degree."""
    random = np.random.default_rng(seed)
    sites, rows = [], []
    for n in range(HOPS):
        latitude, longitude = 51 + random.uniform(0.1, 0.9), -20 - random.uniform(0.2, 0.8)
        way = random.uniform(0, 2 * np.pi)
        far = latitude + 0.045 * np.cos(way), longitude + 0.0715 * np.sin(way)
        sites += [
            {"site": f"A{n}", "latitude": latitude, "longitude": longitude},
            {"site": f"B{n}", "latitude": far[0], "longitude": far[1]},
        ]
        rows.append({**HOP, "path": f"p{n}", "site": f"A{n}", "to_site": f"B{n}"})
    return write_tables(folder, sites=sites, segments=rows)


def raster(path: Path) -> Path:
    """One degree in steps of 0.22″, tiled."""
    import rasterio

    step, band = 1 / SIDE, 256
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=SIDE,
        height=SIDE,
        count=1,
        dtype="float32",
        crs="EPSG:4326",
        tiled=True,
        blockxsize=256,
        blockysize=256,
        transform=rasterio.Affine(step, 0, -21, 0, -step, 52),
    ) as file:
        levels = np.broadcast_to(np.sin(np.arange(SIDE) / 300) * 50 + 200, (band, SIDE))
        for row in range(0, SIDE, band):
            file.write(levels.astype("float32"), 1, window=((row, row + band), (0, SIDE)))
    return path


def measured(name: str, folder: Path, path: Path) -> None:
    """In a process of its own, so that its peak of memory is its own."""
    subprocess.run([sys.executable, __file__, "--file", name, folder, path], check=True)


def measure(name: str, folder: Path, path: Path) -> None:
    design = read_design(folder)
    start, busy = time.perf_counter(), time.process_time()
    filled = fill_terrain(design, Files(open_files([path])))
    seconds, busy = time.perf_counter() - start, time.process_time() - busy
    made = [one.terrain for one in filled.profiles if one.terrain is not None]
    status = Path("/proc/self/status").read_text(encoding="utf-8")  # getrusage knows the parent's
    peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
    print(
        f"{name}: {len(made)} profiles, {sum(len(one.distance_m) for one in made)} rows, "
        f"{seconds:.2f} s ({busy:.2f} s of a core), {len(made) / seconds:.0f} profiles/s; peak of the process {peak:.0f} MB"
    )


def main() -> None:
    if "--file" in sys.argv:
        name, design, file = sys.argv[sys.argv.index("--file") + 1 :]
        measure(name, Path(design), Path(file))
        return
    with tempfile.TemporaryDirectory() as folder:
        design = district(Path(folder) / "design")
        tile = write_hgt(
            Path(folder), "N51W021", lambda y, x: 200 + 50 * np.sin(y * 900) + 0 * x, side=3601
        )
        measured("1″ .hgt", design, tile)
        if "--small" not in sys.argv:
            file = raster(Path(folder) / "gigabyte.tif")
            print(f"{file.stat().st_size / 1e9:.2f} GB")
            measured("1 GB GeoTIFF", design, file)


if __name__ == "__main__":
    main()
