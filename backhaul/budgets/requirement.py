"""What an equivalent of a part must meet: limits that the budget needs, each with its reason."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.influences import AT_LEAST, AT_MOST, Influence
from backhaul.path.placed import rise_c_of

IS, COVERS, WITHIN = "is", "covers", "within"
#: Begins what a demand on a count of ports is called.
PORTS = "ports "
#: In place of a limit that no part can meet, or that hangs on a link that fails.
SETTLE_FIRST = "settle the design first"
#: Decimals at which a figure counts as the same, before a limit is rounded to its safe side.
_SAME = 6


class Figure(NamedTuple):
    """A term of the budget of light: of a direction, or of one row of its link."""

    direction: Any
    term: str
    row: int | None = None


class Need(NamedTuple):
    """What one link asks of a figure: how it moves a margin, over terms of its budget.

    Where several rows are meant, their figures are added up. sharers: figures that share what
    the margin has to spare.
    """

    influence: Influence
    figures: Mapping[str, tuple[Figure, ...]]
    values: Mapping[str, float]
    sharers: int = 1

    def of(self, values: Mapping[str, Any]) -> Any:
        """The limit over numbers or cells."""
        return self.influence.limit(values, self.sharers)

    @property
    def value(self) -> float:
        return float(self.of(self.values))


class Demand(NamedTuple):
    """One figure that an equivalent must meet.

    `limit` is rounded to its safe side at `digits`. `field` is the column of the catalogue.
    `needs` are the links behind it, where it comes from budgets of light.
    """

    what: str
    sense: str
    limit: float | str
    unit: str = ""
    ours: float | str | None = None
    why: str = ""
    field: str = ""
    digits: int = 2
    needs: tuple[Need, ...] = ()
    #: what a standard asks besides, where that is stricter
    cap: float | None = None

    @property
    def met(self) -> bool | None:
        """Whether our own part meets it; None where it cannot be told."""
        if not isinstance(self.ours, int | float) or not isinstance(self.limit, int | float):
            return None
        over = round(self.ours - self.limit, _SAME)
        return over >= 0 if self.sense == AT_LEAST else over <= 0

    @property
    def text(self) -> str:
        """In one phrase, as a quotation would say it."""
        if self.what.startswith(PORTS) and self.sense == AT_LEAST:
            return f"at least {self.limit:g} × port {self.what.removeprefix(PORTS)}"
        limit = self.limit if isinstance(self.limit, str) else f"{self.limit:g}"
        plain = self.sense == IS or self.what.endswith((" to", " from"))
        words = [self.what, "" if plain else self.sense, limit, self.unit]
        return " ".join(word for word in words if word)


def phrases(wanted: Iterable[Demand]) -> str:
    """Demands as a quotation would say them; those without a limit named once, together.

    >>> phrases([Demand("strands", IS, 2), *settle_first("sensitivity"), *settle_first("penalty")])
    'strands 2; settle the design first, then ask for: sensitivity; penalty'
    """
    wanted = tuple(wanted)
    said = [demand.text for demand in wanted if demand.limit != SETTLE_FIRST]
    without = [demand.what for demand in wanted if demand.limit == SETTLE_FIRST]
    if without:
        said.append(f"{SETTLE_FIRST}, then ask for: {'; '.join(dict.fromkeys(without))}")
    return "; ".join(said)


def rounded_up(*, value, digits):
    """A least figure, rounded so that what just meets it meets the budget.

    >>> print(rounded_up(value=-12.437, digits=2))
    -12.43
    """
    return np.ceil(np.round(value * 10**digits, _SAME)) / 10**digits


def rounded_down(*, value, digits):
    """A greatest figure, rounded so that what just meets it meets the budget.

    >>> print(rounded_down(value=-12.437, digits=2))
    -12.44
    """
    return np.floor(np.round(value * 10**digits, _SAME)) / 10**digits


def up(value: float, digits: int) -> float:
    """A least figure, rounded to its safe side.

    >>> up(12.31, 1)
    12.4
    """
    return float(rounded_up(value=value, digits=digits))


def down(value: float, digits: int) -> float:
    """A greatest figure, rounded to its safe side.

    >>> down(12.39, 1)
    12.3
    """
    return float(rounded_down(value=value, digits=digits))


#: Most digits that a limit is written with.
_MOST_DIGITS = 4


def digits_of(value: Any, digits: int) -> int:
    """Digits of a limit: enough that our own figure does not fall off it by rounding.

    >>> digits_of(0.35, 2), digits_of(-9.125, 2)
    (2, 3)
    """
    if not isinstance(value, int | float):
        return digits
    while digits < _MOST_DIGITS and round(value, digits) != round(value, _SAME):
        digits += 1
    return digits


def limit_of(
    what: str,
    sense: str,
    needs: list[Need],
    *,
    unit: str,
    ours: Any,
    field: str,
    why: str = "",
    digits: int = 2,
    cap: float | None = None,
    least: float | None = None,
) -> list[Demand]:
    """The strictest of what several links ask for; nothing where none asks.

    cap: what a standard asks besides. least: below this no part can be.
    """
    needs = [need for need in needs if need.value == need.value]
    if not needs:
        return []
    values = [need.value for need in needs]
    digits = digits_of(ours, digits)
    if sense == AT_LEAST:
        limit = float(rounded_up(value=max(values), digits=digits))
    else:
        limit = float(rounded_down(value=min(values), digits=digits))
        limit = limit if cap is None else min(limit, cap)
    fails = any(round(need.values[need.influence.on], _SAME) < 0 for need in needs)
    if fails or (least is not None and limit < least):
        return settle_first(what)
    return [Demand(what, sense, limit + 0.0, unit, ours, why, field, digits, tuple(needs), cap)]


def settle_first(what: str) -> list[Demand]:
    """No limit goes to a supplier while its link fails, or where no part could meet it."""
    return [Demand(what, IS, SETTLE_FIRST)]


def stated(
    what: str,
    sense: str,
    limit: float | str | None,
    unit: str = "",
    ours: Any = None,
    why: str = "",
    field: str = "",
    digits: int = 2,
) -> list[Demand]:
    """A limit that stands as it is; nothing where it is not known."""
    if limit is None or limit == "" or limit != limit:
        return []
    return [Demand(what, sense, limit, unit, ours, why, field, digits)]


def surroundings(
    record: Any,
    sites: list[Any],
    *,
    enclosed: bool,
    enclosure: bool = True,
    rise_of: Callable[[Any], float] | None = None,
) -> list[Demand]:
    """Temperature, protection and finish that the sites of a part ask for.

    rise_of: rise over ambient at a site, where it is not that of the part's own enclosure [K].
    """
    if rise_of is None:

        def rise_of(site: Any) -> float:
            return rise_c_of(record, site, enclosed=enclosed)

    found: list[Demand] = []
    coldest = min((s.ambient_min_c for s in sites if s.ambient_min_c is not None), default=None)
    warmest = max(
        (s.ambient_max_c + rise_of(s) for s in sites if s.ambient_max_c is not None),
        default=None,
    )
    rises = any(rise_of(site) for site in sites)
    rise = ", enclosure counted" if rises else ""
    found += stated(
        "works down to",
        AT_MOST,
        coldest,
        "°C",
        getattr(record, "temp_min_c", None),
        "coldest of its sites",
        "temp_min_c",
    )
    found += stated(
        "works up to",
        AT_LEAST,
        warmest,
        "°C",
        getattr(record, "temp_max_c", None),
        f"warmest of its sites{rise}",
        "temp_max_c",
    )
    if not enclosure:
        return found
    outdoors = [site for site in sites if site.outdoor]
    if outdoors and hasattr(record, "ip_code"):
        from backhaul.physics.environment import OUTDOOR_IP

        found += stated(
            "protection",
            AT_LEAST,
            OUTDOOR_IP,
            "",
            record.ip_code,
            "stands outdoors, unless in an enclosure (IEC 60529)",
            "ip_code",
        )
    categories = sorted({s.corrosivity for s in sites if s.corrosivity}, key=_category)
    if categories and hasattr(record, "corrosivity"):
        found += stated(
            "corrosivity category",
            AT_LEAST,
            categories[-1],
            "",
            record.corrosivity,
            "harshest of its sites (ISO 12944-2)",
            "corrosivity",
        )
    return found


def _category(code: str) -> int:
    from backhaul.physics.environment import corrosivity_rank

    return corrosivity_rank(code) or 0
