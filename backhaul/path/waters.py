"""Bodies of water under hops: which one a surface names, and the levels that it stands between."""

from collections.abc import Mapping
from typing import NamedTuple

from backhaul.design.columns import WATER
from backhaul.design.model import Design
from backhaul.physics.water import wave_crest_m

SEA, FRESH = "sea", "fresh"
#: Number that stands for land among bodies of water.
NO_WATER = -1


class Body(NamedTuple):
    """One body of water; its levels share the datum of `ground_m`, None where not given.

    name: of the `waters` table, else its kind. kind: "sea" or "fresh".
    """

    name: str
    kind: str
    low_m: float | None
    high_m: float | None
    wave_height_m: float

    @property
    def crest_m(self) -> float | None:
        """Level at the highest water, with its waves; None where no highest is given."""
        if self.high_m is None:
            return None
        return self.high_m + wave_crest_m(wave_height_m=self.wave_height_m)

    @property
    def lowest_m(self) -> float | None:
        """Lowest level; a blank one is as the highest."""
        return self.high_m if self.low_m is None else self.low_m

    @property
    def title(self) -> str:
        """How a message calls it.

        >>> Body("sea", "sea", None, 2.0, 0.0).title, Body("mere", "fresh", None, 3.0, 0.0).title
        ('sea water', 'mere (fresh water)')
        """
        water = f"{self.kind} water"
        return water if self.name in (SEA, FRESH) else f"{self.name} ({water})"


def bodies_of(design: Design) -> Mapping[str, Body]:
    """Bodies of water by what a `surface` cell may say; land has none.

    One without a row in `waters` stands at the levels of the project.
    """
    project = design.project
    levels = (project.water_low_m, project.water_high_m, project.wave_height_m or 0.0)
    bodies = {kind: Body(kind, kind, *levels) for kind in (SEA, FRESH)}
    bodies[WATER] = bodies[project.water or SEA]
    for name, row in design.waters.items():
        bodies[name] = Body(name, row.kind, row.low_m, row.high_m, row.wave_height_m or 0.0)
    return bodies
