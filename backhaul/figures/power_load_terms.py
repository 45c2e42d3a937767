"""The figures of a load of a line: what it takes, starts at and stands."""

from typing import NamedTuple

from backhaul.figures.power_places import (
    charge_place,
    efficiency_place,
    least_place,
    load_nominal_place,
    own_need_place,
    stands_place,
)
from backhaul.figures.power_terms import CLASSIFIED, DEFAULT_EFFICIENCY, REGULATED, STATED
from backhaul.figures.terms import Input, Term
from backhaul.path.ends import PowerEnd
from backhaul.path.ports import PASSIVE
from backhaul.physics import poe, supply, voltages


class Load(NamedTuple):
    """Equipment at the end of a line, and the watts of the optics in it."""

    end: PowerEnd
    optics_w: float

    @property
    def stands_basis(self) -> str:
        """How the highest voltage that it stands is had."""
        if stands_place(self) is not None:
            return STATED
        port = self.end.port
        return CLASSIFIED if port is not None and port.poe_class != PASSIVE else REGULATED


def _load_w(*, own_w, optics_w, passed_on_w, efficiency, charge_w):
    load_w = supply.supply_load_w(
        own_w=own_w + optics_w, passed_on_w=passed_on_w, efficiency=efficiency
    )
    return load_w + charge_w


#: One load behind a line.
LOAD_TERMS = (
    Input("own_w", "Own power", "W", of=own_need_place),
    Term("optics_w", "Its optics", "W"),
    Term("passed_on_w", "Passed on", "W", total="source_w"),
    Input(
        "efficiency",
        "Efficiency of what it passes on",
        of=efficiency_place,
        blank=DEFAULT_EFFICIENCY,
    ),
    Input("charge_w", "While its battery recharges", "W", of=charge_place, blank=0.0),
    Term("load_w", "Load", "W", _load_w),
    Input("least_v", "Load starts at", "V", of=least_place),
)


def _stands_v(*, stated_stands_v):
    return stated_stands_v + 0


def _stands_nominal_v(*, load_nominal_v):
    return voltages.NOMINAL_TOLERANCE * load_nominal_v


def _stands_class_v(*, highest_v):
    return highest_v * 0 + poe.POE_MAX_V


def _given_v(*, highest_v):
    return highest_v + 0


def _given_nominal_v(*, nominal_v):
    return nominal_v + 0


#: What a load is given at the most, and what it stands; `stands_basis` is STATED, CLASSIFIED or
#: REGULATED (nominal voltages compared).
STANDS_TERMS = (
    Input("stated_stands_v", "Highest voltage, stated", "V", of=stands_place),
    Input("load_nominal_v", "Its nominal voltage", "V", of=load_nominal_place),
    Term("highest_v", "Voltage at the source, highest", "V"),
    Term("nominal_v", "Voltage at the source, nominal", "V"),
    Term(
        "given_v",
        "Supplied, highest",
        "V",
        {STATED: _given_v, CLASSIFIED: _given_v, REGULATED: _given_nominal_v},
        by="stands_basis",
    ),
    Term(
        "stands_v",
        "Takes up to",
        "V",
        {STATED: _stands_v, CLASSIFIED: _stands_class_v, REGULATED: _stands_nominal_v},
        by="stands_basis",
    ),
)
