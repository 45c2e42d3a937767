"""The filled example: a drinking-water reservoir, watched from its treatment works (invented)."""

from collections.abc import Mapping

CORD = {"kind": "fiber", "part": "cord-os2-lcupc-lcupc", "length_m": 3, "strand": "1/2"}
PAIR = {"kind": "connector", "part": "lc-upc", "count": 1}

_PATH = (
    {"kind": "device", "site": "Works", "part": "switch-12-sfp", "label": "works-switch",
     "note": "control room"},
    {"kind": "optic", "site": "Works", "part": "1000base-lx10", "port": "sfp1"},
    CORD | {"site": "Works", "to_site": "Works"},
    PAIR | {"site": "Works", "note": "patch panel"},
    {"kind": "fiber", "site": "Works", "to_site": "Kiosk", "part": "os2-12", "length_m": 1850,
     "strand": "1/2", "label": "crest-cable", "note": "in the duct along the dam"},
    {"kind": "splice", "part": "fusion-splice", "count": 2, "site": "Kiosk",
     "note": "pigtails at both panels"},
    PAIR | {"site": "Kiosk", "note": "patch panel"},
    CORD | {"site": "Kiosk", "to_site": "Kiosk"},
    {"kind": "optic", "site": "Kiosk", "part": "1000base-lx10-i", "port": "sfp1"},
    {"kind": "device", "site": "Kiosk", "part": "switch-ind-8-1g-poe-240",
     "label": "kiosk-switch", "note": "feeds the radio"},
    {"kind": "protector", "site": "Kiosk", "part": "protector-copper-1g"},
    {"kind": "copper", "site": "Kiosk", "to_site": "Crest", "part": "cat6a-out", "length_m": 18,
     "port": "1", "to_port": "1"},
    {"kind": "protector", "site": "Crest", "part": "protector-copper-1g-out"},
    {"kind": "radio", "site": "Crest", "to_site": "Tower", "part": "radio-60ghz-sc-int",
     "height_m": 4, "to_height_m": 5, "frequency_ghz": 60.48, "channel_mhz": 2160,
     "tx_power_dbm": 10, "polarization": "V", "label": "tower-hop", "note": "over the water"},
    {"kind": "protector", "site": "Tower", "part": "protector-copper-1g-out"},
    {"kind": "copper", "site": "Tower", "to_site": "Tower", "part": "cat6a-out", "length_m": 9,
     "port": "1", "to_port": "1"},
    {"kind": "protector", "site": "Tower", "part": "protector-copper-1g-out"},
    {"kind": "device", "site": "Tower", "part": "switch-out-4-1g-poe-120",
     "label": "tower-switch"},
    {"kind": "protector", "site": "Tower", "part": "protector-copper-1g-out"},
    {"kind": "copper", "site": "Tower", "to_site": "Tower", "part": "cat6a-out", "length_m": 14,
     "port": "2", "to_port": "1"},
    {"kind": "protector", "site": "Tower", "part": "protector-copper-1g-out"},
    {"kind": "device", "site": "Tower", "part": "camera-class4", "label": "tower-camera"},
)  # fmt: skip

EXAMPLE: Mapping[str, tuple[Mapping[str, object], ...]] = {
    "project": (
        {"setting": "title", "value": "Reservoir: valve tower camera"},
        {"setting": "status", "value": "example, invented"},
        {"setting": "region", "value": "CEPT"},
        {"setting": "water_low_m", "value": 204.0},
        {"setting": "water_high_m", "value": 212.5},
        {"setting": "wave_height_m", "value": 0.3},
        {"setting": "water", "value": "fresh"},
    ),
    "sites": (
        {"site": "Works", "latitude": 51.0, "longitude": -20.0, "ground_m": 186,
         "ambient_min_c": 10, "ambient_max_c": 30, "outdoor": "no", "corrosivity": "C1"},
        {"site": "Kiosk", "latitude": 51.0099, "longitude": -20.0099, "ground_m": 214,
         "ambient_min_c": -10, "ambient_max_c": 45, "outdoor": "no", "corrosivity": "C2"},
        {"site": "Crest", "latitude": 51.01, "longitude": -20.01, "ground_m": 215,
         "ambient_min_c": -20, "ambient_max_c": 35, "outdoor": "yes", "corrosivity": "C3"},
        {"site": "Tower", "latitude": 51.0128, "longitude": -20.0125, "ground_m": 216,
         "ambient_min_c": -20, "ambient_max_c": 35, "outdoor": "yes", "corrosivity": "C3"},
    ),
    "segments": tuple(
        {"path": "tower", "step": step} | row for step, row in enumerate(_PATH, start=1)
    ),
    "paths": ({"path": "tower", "title": "Camera on the valve tower",
               "availability_percent": 99.9},),
    "terrain": (
        {"label": "tower-hop", "distance_m": 0, "ground_m": 215, "surface": "land"},
        {"label": "tower-hop", "distance_m": 12, "ground_m": 203, "surface": "fresh"},
        {"label": "tower-hop", "distance_m": 350, "ground_m": 188, "surface": "fresh"},
        {"label": "tower-hop", "distance_m": 357.5, "ground_m": 216, "surface": "land"},
    ),
    "demand": ({"path": "tower", "what": "camera", "count": 1, "up_mbps": 12, "down_mbps": 0.5},),
    "extras": ({"site": "Tower", "part": "pole mount", "description": "for the radio terminal",
                "count": 1, "unit": "piece"},),
}  # fmt: skip
