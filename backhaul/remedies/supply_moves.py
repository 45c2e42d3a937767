"""The supply at the head of a feed, or further up, by another one."""

from collections.abc import Iterator
from typing import Any

from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_remedies import earthed_twin
from backhaul.design.edits import Edit
from backhaul.design.kinds import KINDS
from backhaul.figures.power_terms import AC, DC, MAINS_CONDUCTORS
from backhaul.findings import AUTONOMY_UNIT
from backhaul.remedies.device_moves import replaces, same_function
from backhaul.remedies.functions import stores
from backhaul.remedies.moves import Candidate, Scene, covers, differences, like, record_of, records

#: What a source of a higher voltage, also further up, may settle.
_LOW_VOLTAGE = ("poe-power", "feed-power", "feed-drop")
#: So far off is a supply with a battery from one without.
_OTHER_KIND = 1000.0
#: First words of sources that stand at few sites.
_RARE = ("lighting", "generator", "solar")
#: Outputs so far apart are of one nominal voltage: lead-acid on float and lithium iron phosphate.
SAME_VOLTAGE = 0.1


def swap_supply(scene: Scene) -> Iterator[Candidate]:
    """The supply at the head of a feed, or further up, by another one."""
    for line in _feeds_above(scene):
        row, old = line.source.equipment.segment, line.source.equipment.record
        if not scene.may_change(row):
            continue
        for new in like(records(scene.context, "devices"), old):
            if _feeds_alike(scene, line, new, old):
                other_v = abs((new.output_volts or 0.0) - _wanted_v(scene, line, old))
                earthed = _with_earth(scene, line) if new.output == AC else ()
                edits = (scene.set(row, "part", new.part), *earthed)
                changes = ("device", *("feed" for _ in earthed))
                stored = _OTHER_KIND * (stores(new) != stores(old) or _is_rare(new))
                yield Candidate(edits, changes, differences(old, new) + other_v + stored)


def more_energy(scene: Scene) -> Iterator[Candidate]:
    """A source with more battery and panels of about the same voltage, the smallest first."""
    if scene.finding.unit != AUTONOMY_UNIT:
        return
    for row in scene.rows:
        old = record_of(scene.context, row)
        if not scene.may_change(row) or not getattr(old, "battery_wh", None):
            continue
        for new in like(records(scene.context, "devices"), old, "supply", "output"):
            grown = [
                ((getattr(new, name) or 0.0) / (getattr(old, name) or 1.0))
                for name in ("battery_wh", "solar_w")
            ]
            off = abs((new.output_volts or 0.0) / (old.output_volts or 1.0) - 1)
            if min(grown) >= 1 and max(grown) > 1 and off <= SAME_VOLTAGE and covers(new, old):
                yield Candidate((scene.set(row, "part", new.part),), ("device",), sum(grown))


def _is_rare(supply: Any) -> bool:
    """Whether few sites have such a source."""
    return supply.part.split("-")[0] in _RARE


def _with_earth(scene: Scene, line: PowerLine) -> tuple[Edit, ...]:
    """The runs of a line that have no protective earth by their twins with one."""
    runs = [row for row in line.rows if KINDS[row.row.kind].is_run and scene.may_change(row.row)]
    twins = [
        (row.row, earthed_twin(row.part, scene.context.catalog))
        for row in runs
        if (row.part.conductors or MAINS_CONDUCTORS) < MAINS_CONDUCTORS
    ]
    return tuple(scene.set(row, "part", twin) for row, twin in twins if twin)


def _wanted_v(scene: Scene, line: PowerLine, old: Any) -> float:
    """The voltage from which the nearest is tried first: the old one, or where that is wrong the load's."""
    if scene.finding.check in ("supply-type", "over-voltage"):
        return next((load.record.supply_volts or 0.0 for load in line.equipment), 0.0)
    return old.output_volts or 0.0


def _feeds_above(scene: Scene) -> list[PowerLine]:
    """Lines of feeds in the scene, then those that feed what sources the scene's PoE."""
    power = scene.context.power
    found = [line for line in power.lines if any(line.link is link for link in scene.links)]
    if scene.finding.check in _LOW_VOLTAGE:
        for line in found:  # grows as it goes up
            above = power.to_load.get(line.source.equipment.key, ())
            found.extend(each for each in above if each not in found)
    return [line for line in found if not line.is_poe]


def _feeds_alike(scene: Scene, line: PowerLine, new: Any, old: Any) -> bool:
    """Whether a supply may stand in the place of another, for what the finding asks."""
    check = scene.finding.check
    if new.output not in ("AC", "DC"):
        return False
    if check == "supply-type":  # of another make altogether: its climate shows when it is tried
        return _is_plugged_in(scene, line) and all(
            new.output == load.record.supply and _suits(new, load.record) for load in line.equipment
        )
    if not covers(new, old) or not same_function(new, old):
        return False
    is_mains = (old.supply, old.output) == ("none", AC)
    if is_mains and new.output_volts != old.output_volts:
        return False  # the voltage of the mains is what the site has
    if (new.output_w or 0.0) < (old.output_w or 0.0):
        return False  # less power is a loss, though today's load takes no more
    if check == "over-voltage" or (new.output, new.supply) != (old.output, old.supply):
        return check == "over-voltage"
    return new.output_volts == old.output_volts or (
        check in _LOW_VOLTAGE and all(_suits(new, load.record) for load in line.equipment)
    )


def _is_plugged_in(scene: Scene, line: PowerLine) -> bool:
    """Whether nothing of the design feeds the source, so that it may be of another kind."""
    return not scene.context.power.to_load.get(line.source.equipment.key)


def _suits(supply: Any, load: Any) -> bool:
    """Whether the voltage of a supply lies in the range of a load."""
    volts = supply.output_volts or 0.0
    least, most = load.supply_min_volts or 0.0, load.supply_max_volts or float("inf")
    return least <= volts <= most


def other_input(scene: Scene) -> Iterator[Candidate]:
    """A load by its like that takes what the source gives.

    A converter whose input does not stand the source by one whose input does. One that has no terminals for a feed by its twin that has; where the supply stays, a device by
    another that does the same from it.
    """
    for line in _feeds_above(scene):
        source = line.source.equipment
        for end in line.equipment:
            row, old = end.segment, end.record
            if not scene.may_change(row):
                continue
            has_terminals = old.supply in (AC, DC)
            is_converter = getattr(old, "output", None) in (AC, DC) and not _suits(
                source.record, old
            )
            if (
                has_terminals
                and not is_converter
                and (row.kind != "device" or scene.may_change(source.segment))
            ):
                continue
            family = KINDS[row.kind].families[0]
            change = "terminal" if row.kind == "radio" else "device"
            for new in like(records(scene.context, family), old):
                if new.supply != line.current:
                    continue
                distance = differences(old, new)
                if has_terminals:  # its climate shows when it is tried
                    fits = replaces(scene, new, old) and _suits(source.record, new)
                    fits = fits and new.output == old.output
                    fits = fits and (new.output_w or 0.0) >= (old.output_w or 0.0)
                else:
                    fits = covers(new, old) and _named_alike(new, old)
                if fits:
                    edits = (scene.set(row, "part", new.part),)
                    yield Candidate(edits, (change,), distance)


def _named_alike(new: Any, old: Any) -> bool:
    """Whether one part is the other with a word more in its name: of another supply, say."""
    words = [set(part.part.split("-")) for part in (new, old)]
    return words[0] > words[1]
