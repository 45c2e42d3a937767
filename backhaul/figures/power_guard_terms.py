"""What a source gives into a short, and what ends a current that lasts too long."""

import numpy as np

from backhaul.figures.power_places import output_place, short_circuit_place
from backhaul.figures.terms import Input, Term
from backhaul.physics import protection

#: What limits the current into a short: the loop alone, the source as stated, or its electronics.
STIFF, STATED_LIMIT, LIMITED = "loop", "stated limit", "limited"
#: What ends a current that lasts too long: a breaker, the source's own limit, the lesser of both.
FUSED, FUSED_AND_LIMITED, UNFUSED, UNGUARDED = "breaker", "breaker or source", "source", "not known"
#: A breaker within the table of its conductors, whose limit in NFPA 70 240.4(D) no air lessens.
FUSED_TO_TABLE = "breaker by table"
#: On the mains a breaker is relied on, whatever its source gives.
ON_MAINS = "mains"
_LEAST_FAULT = "0.95 of nominal, conductors at 70 °C, IEC 60364-4-41, IEC 60909-0"


def _short_circuit_a(*, nominal_v, hot_ohm, loop_reactance_ohm):
    return protection.least_fault_a(
        nominal_v=nominal_v, loop_ohm=hot_ohm, loop_reactance_ohm=loop_reactance_ohm
    )


def _limited_short_circuit_a(*, nominal_v, hot_ohm, loop_reactance_ohm, source_most_a):
    return np.minimum(
        _short_circuit_a(
            nominal_v=nominal_v, hot_ohm=hot_ohm, loop_reactance_ohm=loop_reactance_ohm
        ),
        source_most_a,
    )


def _stated_most_a(*, stated_short_a):
    return stated_short_a + 0


def _let_flow(*, breaker_a):
    return breaker_a + 0


def _let_flow_limited(*, breaker_a, source_most_a):
    return np.minimum(breaker_a, source_most_a)


def _let_flow_unfused(*, source_most_a):
    return source_most_a + 0


def _relied_on_a(*, breaker_a, source_most_a, rated_a):
    """Nothing overheats on extra-low voltage where the source gives less than the run carries."""
    return np.where(source_most_a <= rated_a, 0.0, breaker_a)


#: What limits the source, above the figures of the line.
SOURCE_LIMITS = (
    Input("output_w", "Rated power of the source", "W", of=output_place),
    Input(
        "stated_short_a",
        "Source gives into a short, stated",
        "A",
        of=short_circuit_place,
        digits=1,
    ),
    Term(
        "source_most_a",
        "Source gives into a short",
        "A",
        {STATED_LIMIT: _stated_most_a, LIMITED: protection.limited_a},
        by="limit_basis",
        source="1.5 × its rated current where electronics limit it: common practice",
        digits=1,
        none="the loop alone limits it",
    ),
)
#: Below them.
GUARD_TERMS = (
    Term(
        "short_circuit_a",
        "Least fault current at the load",
        "A",
        {
            STIFF: _short_circuit_a,
            STATED_LIMIT: _limited_short_circuit_a,
            LIMITED: _limited_short_circuit_a,
        },
        by="limit_basis",
        source=_LEAST_FAULT,
        digits=1,
    ),
    Term(
        "lasting_a",
        "Breaker or source lets flow",
        "A",
        {FUSED: _let_flow, FUSED_AND_LIMITED: _let_flow_limited},
        by="guard",
        source="the lesser of both, IEC 60364-4-43 clauses 433.1, 436",
        digits=1,
        none="no breaker is known",
    ),
    Term(
        "unfused_a",
        "Source lets flow, no breaker known",
        "A",
        {UNFUSED: _let_flow_unfused, FUSED_TO_TABLE: _let_flow},
        by="guard",
        source="IEC 60364-4-43 clauses 433.1, 436",
        digits=1,
        none="–",
    ),
    Term(
        "relied_on_a",
        "Breaker that a short must trip",
        "A",
        {ON_MAINS: _let_flow, FUSED: _let_flow, FUSED_AND_LIMITED: _relied_on_a},
        by="relied_on",
        source="none where the source cannot overheat the run at extra-low voltage",
        digits=1,
        none="–",
    ),
)
