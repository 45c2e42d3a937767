"""A map of sites, hops and runs as GeoJSON (RFC 7946), with verdict and figures as properties."""

import json
from typing import Any

from backhaul.checks.results import Results
from backhaul.design.kinds import KINDS
from backhaul.design.settings import US
from backhaul.figures.arrays import plain_number
from backhaul.figures.us_units import IN_US
from backhaul.findings import PASS, worst
from backhaul.path.links import RADIO

#: Decimals of a coordinate: about a decimetre, RFC 7946 section 11.2.
_DECIMALS = 6


def geojson(evaluation: Results) -> dict[str, Any]:
    """The design as a feature collection: a point a site, a line a hop and a run between sites."""
    features = [*_sites(evaluation), *_hops(evaluation), *_runs(evaluation)]
    if evaluation.design.project.units == US:
        for feature in features:
            feature["properties"] |= _in_us(feature["properties"])
    return {"type": "FeatureCollection", "features": features}


def _in_us(properties: dict[str, Any]) -> dict[str, float]:
    """Lengths in feet and miles, to stand beside the metric ones.

    >>> _in_us({"length_m": 30.48, "distance_km": 1.609344, "verdict": "pass"})
    {'length_ft': 100.0, 'distance_mi': 1.0}
    """
    found = {}
    for name, value in properties.items():
        stem, _, unit = name.rpartition("_")
        if unit in ("m", "km") and isinstance(value, int | float):
            shown = IN_US[unit]
            found[f"{stem}_{shown.name}"] = round(float(shown.shown(value)), 4)
    return found


def geojson_text(evaluation: Results) -> str:
    """The same as text, one feature a line."""
    features = ",\n".join(
        json.dumps(feature, ensure_ascii=False, allow_nan=False)
        for feature in geojson(evaluation)["features"]
    )
    return f'{{"type": "FeatureCollection", "features": [\n{features}\n]}}\n'


def _feature(geometry: dict[str, Any], properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _place(evaluation: Results, name: str | None) -> tuple[float, float] | None:
    site = evaluation.design.sites.get(name) if name else None
    if site is None or site.latitude is None or site.longitude is None:
        return None
    return round(site.longitude, _DECIMALS), round(site.latitude, _DECIMALS)


def _sites(evaluation: Results):
    at_site: dict[str, list[str]] = {}
    for row in evaluation.design.segments:
        verdict = evaluation.row_verdicts.get(row.id)
        if verdict:
            for name in filter(None, evaluation.network.places[row.id]):
                at_site.setdefault(name, []).append(verdict)
    for name, site in evaluation.design.sites.items():
        point = _place(evaluation, name)
        if point is not None:
            yield _feature(
                {"type": "Point", "coordinates": list(point)},
                {
                    "what": "site",
                    "name": name,
                    "verdict": worst(at_site.get(name, ())),
                    "ground_m": site.ground_m,
                    "outdoor": site.outdoor,
                },
            )


def _hops(evaluation: Results):
    hops = evaluation.radio.hops
    performance = evaluation.performance.hops
    for link in evaluation.network.links[RADIO]:
        row, index = link.rows[0], link.index
        line = _line(_place(evaluation, row.site), _place(evaluation, row.to_site))
        if line is None:
            continue
        mode = int(performance.mode[2 * index])
        modes = evaluation.radio.modes
        yield _feature(
            line,
            {
                "what": "hop",
                "name": row.label or f"{link.paths[0]} step {link.first_step:g}",
                "paths": list(link.paths),
                "verdict": evaluation.link_verdict(link),
                "part": row.part,
                "from": row.site,
                "to": row.to_site,
                "distance_km": plain_number(hops.distance_km[index]),
                "azimuth_deg": plain_number(hops.azimuth_deg[index]),
                "to_azimuth_deg": plain_number(hops.to_azimuth_deg[index]),
                "frequency_ghz": plain_number(hops.frequency_ghz[index, 0]),
                "mode": str(modes["name"][mode]) if mode >= 0 else None,
                "margin_db": plain_number(modes["margin_db"][mode]) if mode >= 0 else None,
                "rate_mbps": plain_number(performance.user_rate_mbps[2 * index]),
                "to_rate_mbps": plain_number(performance.user_rate_mbps[2 * index + 1]),
                "clearance_ratio_median_k": plain_number(
                    evaluation.radio.clearance.median.ratio[index]
                ),
            },
        )


def _runs(evaluation: Results):
    told = set()
    for row in evaluation.design.segments:
        start, end = evaluation.network.places[row.id]
        if not KINDS[row.kind].is_run or start == end or (row.label and row.label in told):
            continue
        line = _line(_place(evaluation, start), _place(evaluation, end))
        if line is None:
            continue
        if row.label:
            told.add(row.label)
        yield _feature(
            line,
            {
                "what": row.kind,
                "name": row.label or f"{row.path[0]} step {row.step:g}",
                "paths": list(row.path),
                "verdict": evaluation.row_verdicts.get(row.id, PASS),
                "part": row.part,
                "from": start,
                "to": end,
                "length_m": row.length_m,
            },
        )


def _line(start, end) -> dict[str, Any] | None:
    """A line between two places, cut where it crosses the date line (RFC 7946 section 3.1.9)."""
    if start is None or end is None or start == end:
        return None
    if abs(start[0] - end[0]) <= 180:
        return {"type": "LineString", "coordinates": [list(start), list(end)]}
    edge = 180.0 if start[0] > 0 else -180.0
    is_reversed = end[0] + 2 * edge
    share = (edge - start[0]) / (is_reversed - start[0])
    latitude = round(start[1] + share * (end[1] - start[1]), _DECIMALS)
    return {
        "type": "MultiLineString",
        "coordinates": [[list(start), [edge, latitude]], [[-edge, latitude], list(end)]],
    }
