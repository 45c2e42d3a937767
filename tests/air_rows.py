"""Rows of hops and of terrain for the tests of the air, and words for what is found."""

ROW = {"length_m": 3000}
KM = 1000


def place(latitude, longitude, **far):
    return {
        "near_latitude": 52.0,
        "near_longitude": -3.5,
        "far_latitude": latitude,
        "far_longitude": longitude,
        **far,
    }


def water(*points):
    return [(x * KM, g, c, s) for x, g, c, s in points]


def severities(found, check):
    return [finding["severity"] for finding in found.findings(check)]
