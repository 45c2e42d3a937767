"""Rows of an optical link: what a run of glass or a joint loses, line by line."""

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from backhaul.figures.arrays import number
from backhaul.figures.terms import PART, ROW, Input, Term
from backhaul.physics import fiber, optics
from backhaul.units import M_PER_KM

#: Kind of a joint in the catalogue whose loss is wanted.
ATTENUATOR = "attenuator"
_G652 = "ITU-T G.652 (11/2016) Appendix I"
_G957 = "ITU-T G.957 (03/2006) clause 8.3"


def _length_km(*, length_m):
    return length_m / M_PER_KM


def _run_max_db(*, length_km, attenuation_max_db_per_km, extra_loss_db):
    loss = optics.run_loss_db(length_km=length_km, attenuation_db_per_km=attenuation_max_db_per_km)
    return loss + extra_loss_db


def _run_min_db(*, length_km, attenuation_min_db_per_km):
    return optics.run_loss_db(length_km=length_km, attenuation_db_per_km=attenuation_min_db_per_km)


def _run_mean_db(*, length_km, attenuation_mean_db_per_km, extra_loss_db):
    loss = optics.run_loss_db(length_km=length_km, attenuation_db_per_km=attenuation_mean_db_per_km)
    return loss + extra_loss_db


def _measured_max_db(*, measured_db, extra_loss_db):
    return measured_db + extra_loss_db


def _measured_min_db(*, measured_db):
    return measured_db + 0


def _measured_variance_db2(*, measured_db):
    return measured_db * 0


def _joint_max_db(*, count, each_max_db):
    return optics.joints_loss_db(count=count, each_db=each_max_db)


def _joint_min_db(*, count, each_min_db):
    return optics.joints_loss_db(count=count, each_db=each_min_db)


def _joint_mean_db(*, count, each_mean_db):
    return optics.joints_loss_db(count=count, each_db=each_mean_db)


class Run(NamedTuple):
    """A row of glass in one direction: light of `sender` in a run of `part`."""

    row: Any
    part: Any
    sender: Any
    FAMILIES = {"part": "fibers"}

    @property
    def is_measured(self) -> bool:
        return self.row.measured_db is not None


class Joint(NamedTuple):
    """Mated pairs, splices or attenuators of one row."""

    row: Any
    part: Any
    FAMILIES = {"part": "joints"}


def attenuation(columns: Mapping[int, float], wavelength_nm: float | None) -> float | None:
    """Attenuation at a wavelength, None where the columns of a fiber do not give it."""
    if not columns or wavelength_nm is None:
        return None
    return _attenuation(tuple(sorted(columns.items())), wavelength_nm)


@lru_cache(maxsize=1024)  # a district has many runs of few cables
def _attenuation(columns: tuple[tuple[int, float], ...], wavelength_nm: float) -> float:
    ordered, figures = zip(*columns, strict=True)
    return float(
        fiber.attenuation_db_per_km(
            wavelength_nm=wavelength_nm, column_nm=ordered, column_db_per_km=figures
        )
    )


def edge_nm(optic: Any, name: str) -> float | None:
    """An end of the transmit range; the nominal wavelength where it is blank."""
    edge = getattr(optic, name)
    return optic.tx_nominal_nm if edge is None else edge


def _dispersion(run: Run) -> float | None:
    part, optic = run.part, run.sender
    if part.zero_dispersion_min_nm is None or part.mode != "single":
        return None
    return _worst_dispersion(
        number(edge_nm(optic, "tx_min_nm")),
        number(edge_nm(optic, "tx_max_nm")),
        part.zero_dispersion_min_nm,
        number(part.zero_dispersion_max_nm),
        number(part.dispersion_slope_ps_nm2_km),
    )


@lru_cache(maxsize=1024)
def _worst_dispersion(
    tx_min_nm: float, tx_max_nm: float, zero_min_nm: float, zero_max_nm: float, slope: float
) -> float:
    return float(
        fiber.worst_dispersion_ps_per_nm_km(
            tx_min_nm=tx_min_nm,
            tx_max_nm=tx_max_nm,
            zero_dispersion_min_nm=zero_min_nm,
            zero_dispersion_max_nm=zero_max_nm,
            dispersion_slope_ps_nm2_km=slope,
        )
    )


def _at_its_wavelength(run: Run) -> str:
    nominal = run.sender.tx_nominal_nm
    return f"at {nominal:g} nm" if nominal else f"at the wavelength of {run.sender.part}"


def _of_spectrum(name: str) -> Callable[[Run], float | None]:
    return lambda run: attenuation(getattr(run.part, name), run.sender.tx_nominal_nm)


def _least_joint_db(joint: Joint) -> float:
    """An attenuator with a blank is taken at its typical or only figure, others at 0."""
    return _mean_joint_db(joint) if joint.part.kind == ATTENUATOR else 0.0


def _mean_joint_db(joint: Joint) -> float:
    return joint.part.max_db if joint.part.typical_db is None else joint.part.typical_db


LENGTH = Input("length_m", "Length", "m", ROW, digits=0, none="not given")
#: A fiber row, in one direction.
RUN_TERMS = (
    LENGTH,
    Term("length_km", "Length", "km", _length_km, digits=3, none="not given"),
    Input(
        "attenuation_max_db_per_km",
        "Attenuation, highest",
        "dB/km",
        PART,
        _of_spectrum("max_db_km"),
        at=_at_its_wavelength,
    ),
    Input(
        "attenuation_min_db_per_km",
        "Attenuation, lowest",
        "dB/km",
        PART,
        _of_spectrum("min_db_km"),
        at=_at_its_wavelength,
    ),
    Input(
        "attenuation_mean_db_per_km",
        "Attenuation, mean",
        "dB/km",
        PART,
        _of_spectrum("typical_db_km"),
        at=_at_its_wavelength,
    ),
    Input("measured_db", "Measured loss", "dB", ROW),
    Input("extra_loss_db", "Further loss", "dB", ROW, blank=0.0),
    Input(
        "sigma_db_per_km", "Spread of a section", "dB/km", PART, "sigma_db_km", blank=0.0, digits=3
    ),
    Term("glass_km", "Length of the whole link", "km", digits=3),
    Term("sections", "Sections of cable", digits=0),
    Input(
        "dispersion_ps_per_nm_km",
        "Worst dispersion",
        "ps/(nm km)",
        PART,
        _dispersion,
        at=lambda run: f"over the range of {run.sender.part}",
        none="none",
    ),
    Term(
        "loss_max_db",
        "Loss, highest",
        "dB",
        {"length": _run_max_db, "measured": _measured_max_db},
        by="loss_basis",
        source=_G652,
    ),
    Term(
        "loss_min_db",
        "Loss, lowest",
        "dB",
        {"length": _run_min_db, "measured": _measured_min_db},
        by="loss_basis",
        source=_G652,
    ),
    Term(
        "loss_mean_db",
        "Loss, mean",
        "dB",
        {"length": _run_mean_db, "measured": _measured_max_db},
        by="loss_basis",
        source=_G957,
    ),
    Term(
        "variance_db2",
        "Variance",
        "dB²",
        {"length": optics.run_variance_db2, "measured": _measured_variance_db2},
        by="loss_basis",
        source=_G957,
        digits=5,
    ),
    Term(
        "dispersion_ps_nm",
        "Dispersion",
        "ps/nm",
        fiber.run_dispersion_ps_per_nm,
        source="ITU-T G.652 (11/2016)",
        digits=1,
        none="none",
    ),
)

COUNT = Input("count", "Count", "", ROW, blank=1, digits=0)
#: Mated pairs, splices, attenuators.
JOINT_TERMS = (
    COUNT,
    Input("each_max_db", "Loss, highest", "dB", PART, "max_db"),
    Input("each_min_db", "Loss, lowest", "dB", PART, "min_db", blank=_least_joint_db),
    Input("each_mean_db", "Loss, mean", "dB", PART, "typical_db", blank=_mean_joint_db),
    Input("sigma_db", "Spread", "dB", PART, blank=0.0, digits=3),
    Term("loss_max_db", "Loss, highest", "dB", _joint_max_db, source=_G652),
    Term("loss_min_db", "Loss, lowest", "dB", _joint_min_db, source=_G652),
    Term("loss_mean_db", "Loss, mean", "dB", _joint_mean_db, source=_G957),
    Term("variance_db2", "Variance", "dB²", optics.joints_variance_db2, source=_G957, digits=5),
)
