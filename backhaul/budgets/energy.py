"""Energy of sources that live on a battery and panels: days without sun, panels for the worst month."""

from typing import Any, NamedTuple

from backhaul.budgets.power import PowerSource
from backhaul.figures.arrays import number
from backhaul.figures.power_judgements import energy_word
from backhaul.findings import PASS
from backhaul.path.equipment import Equipment
from backhaul.physics import energy

HOURS = energy.HOURS_PER_DAY


class EnergyBalance(NamedTuple):
    """What a battery carries and its panels bring; NaN where a figure is not known."""

    equipment: Equipment
    source: PowerSource
    load_w: float
    day_wh: float
    autonomy_days: float
    wanted_days: float
    battery_needed_wh: float
    panel_needed_w: float
    solar_w: float
    sun_hours: float
    #: charged from the mains too: the battery bridges an outage only
    is_on_mains: bool
    #: columns without which nothing can be judged
    missing: tuple[str, ...]

    @property
    def is_short(self) -> bool:
        """Whether battery or panels fall short of what is wanted."""
        return self.word != PASS

    @property
    def word(self) -> str:
        """What is made of it."""
        return str(energy_word(**{name: getattr(self, name) for name in JUDGED}))


#: Figures that decide, arguments of `energy_word`.
JUDGED = ("autonomy_days", "wanted_days", "solar_w", "panel_needed_w")


def energy_balances(sources: tuple[PowerSource, ...], design: Any) -> list[EnergyBalance]:
    """The balance of every source with a battery or panels."""
    return [
        balance(source, design)
        for source in sources
        if not source.is_poe
        and any(getattr(source.equipment.record, name, None) for name in ("battery_wh", "solar_w"))
    ]


def balance(source: PowerSource, design: Any) -> EnergyBalance:
    record = source.equipment.record
    site = design.sites.get(source.equipment.site)
    on_mains = record.supply in ("AC", "DC")
    figures = {
        "battery_wh": record.battery_wh,
        "battery_use_percent": record.battery_use_percent,
        "solar_w": record.solar_w,
        "sun_hours": getattr(site, "sun_hours", None),
    }
    battery, use, solar, sun = (number(value) for value in figures.values())
    load_w = source.used_w + number(record.watts if record.watts is not None else 0.0)
    day_wh = energy.day_energy_wh(load_w=load_w)
    wanted = design.project.autonomy_days
    drawn = day_wh > 0
    needed_w = energy.panel_needed_w(
        day_wh=day_wh, sun_hours=sun or float("nan"), array_to_load=energy.ARRAY_TO_LOAD
    )
    asked = (
        figures if not on_mains else {k: figures[k] for k in ("battery_wh", "battery_use_percent")}
    )
    return EnergyBalance(
        source.equipment,
        source,
        load_w,
        day_wh,
        energy.autonomy_days(battery_wh=battery, use_percent=use, day_wh=day_wh)
        if drawn
        else float("inf" if drawn is False and day_wh == 0 else "nan"),
        wanted,
        energy.battery_needed_wh(days=wanted, use_percent=use, day_wh=day_wh),
        needed_w,
        solar,
        sun,
        on_mains,
        tuple(name for name, value in asked.items() if not value),
    )
