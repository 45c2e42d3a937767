"""Energy of sources that live on a battery and panels: days without sun, panels for the worst month."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.power import PowerBudget, PowerSource, dark_with
from backhaul.figures.arrays import number
from backhaul.figures.power_judgements import energy_word
from backhaul.findings import PASS
from backhaul.path.equipment import Equipment
from backhaul.physics import energy
from backhaul.units import PERCENT

HOURS = energy.HOURS_PER_DAY


class EnergyBalance(NamedTuple):
    """What a battery carries and its panels bring; NaN where a figure is not known."""

    equipment: Equipment
    source: PowerSource
    load_w: float
    #: share of the day in which the loads draw their power, weighted by their watts [%]
    duty_percent: float
    day_wh: float
    #: share of that which is drawn in the dark, of all loads together [%]
    night_percent: float
    night_wh: float
    autonomy_days: float
    #: of the project, but the whole night at the least
    wanted_days: float
    battery_needed_wh: float
    #: depth that is used, cold counted; and that of a day [% of the rated energy]
    use_percent: float
    day_depth_percent: float
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


def energy_balances(
    sources: tuple[PowerSource, ...], design: Any, power: PowerBudget
) -> list[EnergyBalance]:
    """The balance of every source with a battery or panels."""
    return [
        balance(source, design, power)
        for source in sources
        if not source.is_poe
        and any(getattr(source.equipment.record, name, None) for name in ("battery_wh", "solar_w"))
    ]


def balance(source: PowerSource, design: Any, power: PowerBudget) -> EnergyBalance:
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
    duty = duty_percent(source, power)
    day_wh = energy.day_energy_wh(load_w=energy.mean_load_w(load_w=load_w, duty_percent=duty))
    night = night_percent(source, power, design)
    wanted = float(np.maximum(design.project.autonomy_days, energy.night_days(night_percent=night)))
    cold, battery_c = record.battery_cold_percent_k, getattr(site, "ambient_min_c", None)
    if cold:
        figures["ambient_min_c"] = battery_c
        use = energy.use_in_cold_percent(
            use_percent=use, cold_percent_k=cold, battery_c=number(battery_c)
        )
    needed_w = _panel_needed_w(day_wh, sun)
    if record.output_volts is None and record.output_min_volts is None:
        figures["output_volts"] = None  # what its feeds draw hangs on it
    of_battery = ("output_volts", "battery_wh", "battery_use_percent", "ambient_min_c")
    asked = figures if not on_mains else {k: v for k, v in figures.items() if k in of_battery}
    return EnergyBalance(
        equipment=source.equipment,
        source=source,
        load_w=load_w,
        duty_percent=duty,
        day_wh=day_wh,
        night_percent=night,
        night_wh=day_wh * night / PERCENT,
        autonomy_days=energy.autonomy_days(battery_wh=battery, use_percent=use, day_wh=day_wh)
        if day_wh > 0
        else float("inf" if day_wh == 0 else "nan"),
        wanted_days=wanted,
        battery_needed_wh=energy.battery_needed_wh(days=wanted, use_percent=use, day_wh=day_wh)
        if use
        else float("inf"),
        use_percent=use,
        day_depth_percent=energy.day_depth_percent(day_wh=day_wh, battery_wh=battery or np.nan),
        panel_needed_w=needed_w,
        solar_w=solar,
        sun_hours=sun,
        is_on_mains=on_mains,
        missing=tuple(name for name, value in figures.items() if name in asked and value is None),
    )


def _panel_needed_w(day_wh: float, sun_hours: float) -> float:
    """Panels that the worst month asks for [W]; without sun none suffice."""
    if sun_hours == 0:
        return float("inf") if day_wh else 0.0
    return float(
        energy.panel_needed_w(
            day_wh=day_wh, sun_hours=sun_hours, array_to_load=energy.ARRAY_TO_LOAD
        )
    )


class Draw(NamedTuple):
    """What one load behind a source takes itself, and when; None where nobody said it."""

    equipment: Equipment
    watts: float
    duty_percent: float | None
    night_percent: float | None


class LoadEnergy(NamedTuple):
    """What one load takes from a battery in a day, losses on the way to it counted."""

    draw: Draw
    load_w: float
    day_wh: float
    night_wh: float


def draws(source: PowerSource, power: PowerBudget) -> list[Draw]:
    """The source and everything behind it that takes power, with what each takes itself."""
    behind = dark_with(power, [load for line in source.lines for load in line.equipment])
    found = []
    own_w, row = number(source.equipment.record.watts or 0.0), source.equipment.segment
    if own_w > 0:
        found.append(Draw(source.equipment, own_w, row.duty_percent, row.night_percent))
    for equipment in behind:
        figures = power.loads.get(equipment.key, {})
        watts = figures.get("own_w", np.nan) + figures.get("optics_w", 0.0)
        if watts > 0:
            row = equipment.segment
            found.append(Draw(equipment, watts, row.duty_percent, row.night_percent))
    return found


def load_energies(found: EnergyBalance, power: PowerBudget, design: Any) -> list[LoadEnergy]:
    """Energy of a day by load; together they are that of the balance."""
    loads = draws(found.source, power)
    whole = sum(load.watts for load in loads)
    energies = []
    for load in loads:
        load_w = found.load_w * load.watts / whole
        mean_w = energy.mean_load_w(load_w=load_w, duty_percent=duty_of(load))
        day_wh = energy.day_energy_wh(load_w=mean_w)
        night_wh = day_wh * night_of(load, dark_percent(found.source, design)) / PERCENT
        energies.append(LoadEnergy(load, load_w, day_wh, night_wh))
    return energies


def duty_percent(source: PowerSource, power: PowerBudget) -> float:
    """Share of the day in which the loads of a source draw their power, weighted by their watts."""
    loads = draws(source, power)
    if all(load.duty_percent is None for load in loads):
        return PERCENT
    return sum(load.watts * duty_of(load) for load in loads) / sum(load.watts for load in loads)


def night_percent(source: PowerSource, power: PowerBudget, design: Any) -> float:
    """Share of a day's energy that is drawn in the dark, of all loads of a source together."""
    dark = dark_percent(source, design)
    day = [(load.watts * duty_of(load), night_of(load, dark)) for load in draws(source, power)]
    whole = sum(taken for taken, _ in day)
    return sum(taken * share for taken, share in day) / whole if whole else dark


def night_of(load: Draw, dark: float) -> float:
    """Share of a load's energy that it takes in the dark; even over the day where none is typed."""
    if load.night_percent is None:
        return dark
    return float(
        energy.night_share_percent(
            night_percent=load.night_percent, duty_percent=duty_of(load), dark_percent=dark
        )
    )


def dark_percent(source: PowerSource, design: Any) -> float:
    """Share of the shortest day that is dark at a source; half of it where its place is not known."""
    site = design.sites.get(source.equipment.site)
    latitude = getattr(site, "latitude", None)
    if latitude is None:
        return PERCENT / 2  # nowhere is the longest night shorter
    return PERCENT * float(energy.longest_night_h(latitude_deg=latitude)) / HOURS


def duty_of(load: Draw) -> float:
    """Share of the day in which a load draws its power: all of it where none is typed."""
    return PERCENT if load.duty_percent is None else load.duty_percent
