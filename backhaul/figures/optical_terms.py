"""The lines of an optical budget in one direction, in the order in which they are written down."""

from backhaul.figures.terms import Term
from backhaul.physics import optics

_G652 = "ITU-T G.652 (11/2016) Appendix I"
_G957 = "ITU-T G.957 (03/2006) clause 8.3"


def _received_min_dbm(*, launch_min_dbm, loss_max_db):
    return optics.received_dbm(launch_dbm=launch_min_dbm, loss_db=loss_max_db)


def _received_max_dbm(*, launch_max_dbm, loss_min_db):
    return optics.received_dbm(launch_dbm=launch_max_dbm, loss_db=loss_min_db)


def _statistical_power_margin_db(
    *, launch_min_dbm, sensitivity_dbm, penalty_db, statistical_loss_db, repair_allowance_db
):
    return optics.power_margin_db(
        launch_min_dbm=launch_min_dbm,
        sensitivity_dbm=sensitivity_dbm,
        penalty_db=penalty_db,
        loss_max_db=statistical_loss_db,
        repair_allowance_db=repair_allowance_db,
    )


def _statistical_channel_margin_db(*, channel_limit_db, statistical_loss_db, repair_allowance_db):
    return optics.channel_margin_db(
        channel_limit_db=channel_limit_db,
        loss_max_db=statistical_loss_db,
        repair_allowance_db=repair_allowance_db,
    )


def _helps(*, attenuation_needed_db, attenuator_size_db, margin_db):
    return optics.attenuator_helps(
        needed_db=attenuation_needed_db, size_db=attenuator_size_db, margin_db=margin_db
    )


def _size(*, attenuation_needed_db):
    return optics.next_attenuator_db(needed_db=attenuation_needed_db)


#: The link in one direction.
DIRECTION_TERMS = (
    Term("launch_min_dbm", "Launch, lowest", "dBm"),
    Term("launch_max_dbm", "Launch, highest", "dBm"),
    Term("sensitivity_dbm", "Sensitivity", "dBm"),
    Term("overload_dbm", "Overload", "dBm"),
    Term("penalty_db", "Penalty", "dB"),
    Term("channel_limit_db", "Channel limit of optic and fiber", "dB"),
    Term("repair_allowance_db", "Held back for repairs", "dB"),
    Term("healthy_margin_db", "Healthy margin", "dB"),
    Term("wanted_overload_margin_db", "Healthy distance to overload", "dB"),
    Term("loss_max_db", "Loss, highest", "dB", total="loss_max_db", source=_G652),
    Term("loss_min_db", "Loss, lowest", "dB", total="loss_min_db", source=_G652),
    Term("mean_db", "Loss, mean", "dB", total="loss_mean_db", source=_G957),
    Term("variance_db2", "Variance", "dB²", total="variance_db2", source=_G957, digits=5),
    Term("received_min_dbm", "Received, lowest", "dBm", _received_min_dbm),
    Term("received_max_dbm", "Received, highest", "dBm", _received_max_dbm),
    Term(
        "margin_db",
        "Margin",
        "dB",
        {"power": optics.power_margin_db, "channel": optics.channel_margin_db},
        by="margin_basis",
        source="form P: IEEE 802.3 Clauses 38, 59, ITU-T G.957; form C: Clauses 52, 87, 88, 114",
    ),
    Term("overload_margin_db", "Distance to overload", "dB", optics.overload_margin_db),
    Term("attenuation_needed_db", "Attenuation needed", "dB", optics.attenuation_needed_db),
    Term(
        "attenuator_size_db",
        "Attenuator, next size",
        "dB",
        _size,
        digits=0,
        source="standard sizes, common practice",
    ),
    Term("attenuator_helps", "Attenuator helps", "", _helps),
    Term(
        "statistical_loss_db",
        "Loss, mean + 3 sigma",
        "dB",
        optics.statistical_loss_db,
        source=_G957,
    ),
    Term(
        "statistical_margin_db",
        "Margin, mean + 3 sigma",
        "dB",
        {"power": _statistical_power_margin_db, "channel": _statistical_channel_margin_db},
        by="margin_basis",
        source=_G957,
    ),
)
