"""An optical link in one direction: its figures, what is judged, what moves its margins."""

from collections.abc import Callable
from typing import Any

from backhaul.design.settings import HEALTHY_MARGIN_DB, REPAIR_ALLOWANCE_DB, REPAIR_RUN_M
from backhaul.figures.judgements import Judgement
from backhaul.figures.optical_directions import FROM_REACH, Direction
from backhaul.figures.terms import PROJECT, RECEIVER, SENDER, Input, Term
from backhaul.figures.verdicts import (
    dispersion_verdict,
    margin_verdict,
    optical_margin_verdict,
)
from backhaul.findings import PASS
from backhaul.physics import optical_margins, optics

POWER, CHANNEL, BOTH = "power", "channel", "both"
_G652 = "ITU-T G.652 (11/2016) Appendix I"
_G957 = "ITU-T G.957 (03/2006) clause 8.3"
_RULE = "rules of the project"


def _own(rows: tuple[Any, ...], name: str, pick: Callable) -> Any:
    """The worst figure that the standard gives an optic on these fibers; None where its own."""
    found = [row for row in rows if getattr(row, name) is not None]
    return pick(found, key=lambda row: getattr(row, name)) if found else None


def _launch_row(direction: Direction) -> Any:
    return _own(direction.sends_on, "launch_min_dbm", min)


def _launch_min(direction: Direction) -> float | None:
    row = _launch_row(direction)
    return direction.sender.launch_min_dbm if row is None else row.launch_min_dbm


def _penalty_row(direction: Direction) -> Any:
    optic = direction.penalized
    rows = direction.sends_on if optic is direction.sender else direction.hears_on
    return _own(rows, "penalty_db", max)


def _penalty(direction: Direction) -> float | None:
    if direction.penalized is None:
        return 0.0
    row = _penalty_row(direction)
    return direction.penalized.penalty_db if row is None else row.penalty_db


def _on_class(row_of: Callable[[Direction], Any]) -> Callable[[Direction], str]:
    def at(direction: Direction) -> str:
        row = row_of(direction)
        return "" if row is None else f"on {row.fiber_class}"

    return at


def _repair(direction: Direction) -> float:
    return REPAIR_ALLOWANCE_DB if direction.has_long_run else 0.0


def _where_repaired(direction: Direction) -> str:
    if direction.has_long_run:
        return f"single-mode run over {REPAIR_RUN_M:g} m"
    return f"no single-mode run over {REPAIR_RUN_M:g} m"


def _dispersion_from_reach(direction: Direction) -> float:
    """1 where the tighter limit of the two optics was only computed from a reach."""
    limits = [
        (optic.max_dispersion_ps_nm, optic.dispersion_basis == FROM_REACH)
        for optic in (direction.sender, direction.spread)
        if optic is not None and optic.max_dispersion_ps_nm is not None
    ]
    return float(min(limits)[1]) if limits else 0.0


def _received_min_dbm(*, launch_min_dbm, loss_max_db):
    return optics.received_dbm(launch_dbm=launch_min_dbm, loss_db=loss_max_db)


def _received_max_dbm(*, launch_max_dbm, loss_min_db):
    return optics.received_dbm(launch_dbm=launch_max_dbm, loss_db=loss_min_db)


def _by_power(*, power_margin_db):
    return power_margin_db + 0


def _by_channel(*, channel_margin_db):
    return channel_margin_db + 0


def _statistical_loss_db(*, mean_db, variance_db2, loss_max_db):
    loss = optics.statistical_loss_db(mean_db=mean_db, variance_db2=variance_db2)
    return optics.bounded_statistical_loss_db(statistical_loss_db=loss, loss_max_db=loss_max_db)


def _statistical_margin_db(*, margin_db, loss_max_db, statistical_loss_db):
    """The same margin over the statistical loss: both limits fall dB by dB with the loss."""
    return margin_db + loss_max_db - statistical_loss_db


#: The link in one direction.
DIRECTION_TERMS = (
    # what loss and dispersion are read at: another is another part, no cell to type over
    Input("wavelength_nm", "Wavelength", "nm", column=lambda d: d.sender.tx_nominal_nm, digits=0),
    Input(
        "launch_min_dbm", "Launch, lowest", "dBm", SENDER, _launch_min, at=_on_class(_launch_row)
    ),
    Input("launch_max_dbm", "Launch, highest", "dBm", SENDER),
    Input("sensitivity_dbm", "Sensitivity", "dBm", RECEIVER),
    Input("overload_dbm", "Overload", "dBm", RECEIVER, none="no limit"),
    Input("damage_dbm", "Damage", "dBm", column=lambda d: d.receiver.damage_dbm, none="no limit"),
    Input("penalty_db", "Penalty", "dB", "penalized", _penalty, 0.0, at=_on_class(_penalty_row)),
    Input(
        "channel_limit_db",
        "Channel limit of optic and fiber",
        "dB",
        "reach",
        "channel_loss_max_db",
        at=lambda direction: f"on {direction.reach.fiber_class}" if direction.reach else "",
        none="no limit",
    ),
    Input(
        "repair_allowance_db",
        "Repair allowance",
        "dB",
        PROJECT,
        blank=_repair,
        at=_where_repaired,
        source=f"{_RULE}: {REPAIR_ALLOWANCE_DB:g} dB where a run can be dug up",
    ),
    Input(
        "healthy_margin_db",
        "Healthy margin",
        "dB",
        PROJECT,
        "optical_margin_db",
        blank=lambda direction: HEALTHY_MARGIN_DB[direction.form],
        at=lambda direction: f"budget form {direction.form}",
        source=_RULE,
    ),
    Input(
        "wanted_overload_margin_db",
        "Healthy distance to overload",
        "dB",
        PROJECT,
        "overload_margin_db",
    ),
    Term("loss_max_db", "Loss, highest", "dB", total="loss_max_db", source=_G652),
    Term("loss_min_db", "Loss, lowest", "dB", total="loss_min_db", source=_G652),
    Term("mean_db", "Loss, mean", "dB", total="loss_mean_db", source=_G957),
    Term("variance_db2", "Variance", "dB²", total="variance_db2", source=_G957, digits=5),
    Term("received_min_dbm", "Received, lowest", "dBm", _received_min_dbm),
    Term("received_max_dbm", "Received, highest", "dBm", _received_max_dbm),
    Term(
        "power_margin_db",
        "Margin by power",
        "dB",
        {POWER: optics.power_margin_db, BOTH: optics.power_margin_db},
        by="limited_by",
        source="IEEE 802.3 Clauses 38, 59; ITU-T G.957 clause 8.2",
        none="not judged",
    ),
    Term(
        "channel_margin_db",
        "Margin by channel limit",
        "dB",
        {CHANNEL: optics.channel_margin_db, BOTH: optics.channel_margin_db},
        by="limited_by",
        source="IEEE 802.3 Clauses 38, 52, 59, 87, 88, 114",
        none="no limit",
    ),
    Term(
        "margin_db",
        "Margin, the tighter",
        "dB",
        {POWER: _by_power, CHANNEL: _by_channel, BOTH: optical_margins.tighter_margin_db},
        by="limited_by",
        source="IEEE 802.3 Tables 38-9, 59-11",
    ),
    Term(
        "overload_margin_db",
        "Distance to overload",
        "dB",
        optics.overload_margin_db,
        none="no limit",
    ),
    Term(
        "attenuation_needed_db",
        "Attenuation needed",
        "dB",
        optics.attenuation_needed_db,
        none="none",
    ),
    Term("statistical_loss_db", "Loss, mean + 3 sigma", "dB", _statistical_loss_db, source=_G957),
    Term(
        "statistical_margin_db",
        "Margin, mean + 3 sigma",
        "dB",
        _statistical_margin_db,
        source=_G957,
    ),
    Term(
        "dispersion_ps_nm",
        "Dispersion",
        "ps/nm",
        total="dispersion_ps_nm",
        digits=1,
        source="ITU-T G.652 (08/2024)",
        none="none",
    ),
    Term(
        "max_dispersion_ps_nm",
        "Dispersion tolerance of the optics",
        "ps/nm",
        digits=1,
        none="no limit",
    ),
    Input(
        "dispersion_from_reach",
        "1: that is of the reach only",
        column=_dispersion_from_reach,
        digits=0,
        source=f"{_RULE}: no published limit, thin at most",
    ),
)
#: What each optic stands of this light; the tighter of the two holds.
DISPERSION_LIMITS = (
    Input("max_dispersion_ps_nm", "Dispersion tolerance", "ps/nm", SENDER, digits=1),
    Input("max_dispersion_ps_nm", "Dispersion tolerance", "ps/nm", "spread", digits=1),
)

#: What is judged in each direction. A figure that is missing is a finding of its own.
JUDGEMENTS = (
    Judgement(
        "margin_verdict",
        "Margin",
        "optical-margin",
        optical_margin_verdict,
        {
            "margin": "margin_db",
            "healthy": "healthy_margin_db",
            "repair_allowance": "repair_allowance_db",
        },
        missing=PASS,
    ),
    Judgement(
        "overload_verdict",
        "Overload",
        "receiver-overload",
        margin_verdict,
        {"margin": "overload_margin_db", "healthy": "wanted_overload_margin_db"},
        missing=PASS,
    ),
    Judgement(
        "dispersion_verdict",
        "Dispersion",
        "fiber-dispersion",
        dispersion_verdict,
        {
            "value": "dispersion_ps_nm",
            "limit": "max_dispersion_ps_nm",
            "from_reach": "dispersion_from_reach",
        },
        missing=PASS,
    ),
)
MARGIN, OVERLOAD, DISPERSION = JUDGEMENTS
