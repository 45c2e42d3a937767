"""Elevation files of known surfaces, and a design of hops over them."""

import csv
from pathlib import Path

import numpy as np

HOP = {
    "path": "P",
    "step": 1,
    "kind": "radio",
    "site": "A",
    "to_site": "B",
    "part": "radio-18ghz-low",
    "to_part": "radio-18ghz-high",
    "antenna": "dish-18ghz-0.6m",
    "height_m": 20,
    "to_height_m": 20,
    "frequency_ghz": 18.2,
    "to_frequency_ghz": 19.21,
    "channel_mhz": 27.5,
    "polarization": "V",
    "eirp_limit_dbm": 60,
}


def write_tables(folder: Path, **tables) -> Path:
    """Tables as lists of dicts, each a CSV of the folder."""
    folder.mkdir(exist_ok=True)
    for name, rows in tables.items():
        columns = list(dict.fromkeys(key for row in rows for key in row))
        with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns)
            writer.writeheader()
            writer.writerows(rows)
    return folder


def write_hop(folder: Path, first, last, *, ground=(None, None), hop=None, **tables) -> Path:
    """A design of one hop between two places (latitude, longitude)."""
    sites = [
        {
            "site": name,
            "latitude": place[0],
            "longitude": place[1],
            "ground_m": level,
            "outdoor": "yes",
            "rain_rate_mm_h": 28,
            "dn1": -200,
            "vapour_g_m3": 7.5,
            "temperature_c": 10,
            "pressure_hpa": 1000,
        }
        for name, place, level in zip("AB", (first, last), ground)
    ]
    return write_tables(folder, sites=sites, segments=[{**HOP, **(hop or {})}], **tables)


def sine_hills(latitude, longitude):
    """Hills 2.5 km apart, 60 m high: what a slope between cells hides is known by hand."""
    return 200 + 30 * np.sin(np.radians(latitude) * 16000) * np.sin(np.radians(longitude) * 10000)


def write_hgt(folder: Path, corner: str, surface, *, side: int = 1201) -> Path:
    """A one-degree tile of a surface of latitude and longitude; the corner as in N51W021."""
    south = int(corner[1:3]) * (1 if corner[0] == "N" else -1)
    west = int(corner[4:7]) * (1 if corner[3] == "E" else -1)
    latitude = (south + 1 - np.arange(side) / (side - 1))[:, None]
    longitude = (west + np.arange(side) / (side - 1))[None, :]
    levels = np.broadcast_to(surface(latitude, longitude), (side, side))
    levels = np.where(np.isnan(levels), -32768, np.round(levels))
    path = folder / f"{corner}.hgt"
    path.write_bytes(levels.astype(">i2").tobytes())
    return path


def write_tif(path: Path, levels, *, left, top, step, crs="EPSG:4326", tags=None, **more) -> Path:
    """A GeoTIFF of an array; `step` in the unit of the reference system."""
    import rasterio

    levels = np.asarray(levels)
    options = {
        "dtype": levels.dtype.name,
        "transform": rasterio.Affine(step, 0, left, 0, -step, top),
        **more,
    }
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=levels.shape[0],
        width=levels.shape[1],
        count=1,
        crs=crs,
        **options,
    ) as file:
        file.write(levels, 1)
        if tags:
            file.update_tags(**tags)
    return path


def surface_tif(path: Path, surface, *, left, top, step, rows, columns, **more) -> Path:
    """A GeoTIFF of a surface of its own y and x, at the centres of the cells."""
    y = (top - (np.arange(rows) + 0.5) * step)[:, None]
    x = (left + (np.arange(columns) + 0.5) * step)[None, :]
    levels = np.broadcast_to(surface(y, x), (rows, columns)).astype("float32")
    return write_tif(path, levels, left=left, top=top, step=step, **more)
