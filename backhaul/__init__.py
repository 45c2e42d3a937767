"""Budget of a whole fiber-plus-radio path: light, air, copper and supply.

import backhaul
design = backhaul.read_design("demo/reservoir")
evaluation = backhaul.evaluate(design)
backhaul.write_workbook(evaluation, "reservoir.xlsx")
evaluation.frame()                       # pandas: one row a link and direction
"""

__version__ = "0.1.0"
__all__ = [
    "compare",
    "draw",
    "evaluate",
    "fill_terrain",
    "load_catalog",
    "read_design",
    "read_readings",
    "settle",
    "write_workbook",
]


def __getattr__(name: str):
    """Load the interface when it is asked for, so that the command line starts quickly."""
    if name in __all__:
        from backhaul import api

        return getattr(api, name)
    raise AttributeError(f"module 'backhaul' has no attribute {name!r}")
