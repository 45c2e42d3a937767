"""What surrounds a device: corrosion, dust and water, heat, explosive air. Plain functions.

Explosive air is information only: whether equipment may stand there is for the competent
authority, the local code and licensed practice to say.
"""

import re
from functools import lru_cache
from typing import NamedTuple

from backhaul.methods import Figure, Method

METHODS = (
    Method("corrosivity", "ISO 12944-2; ISO 9223", "2017; 2012"),
    Method("degree of protection", "IEC 60529", "1989 with A2:2013"),
    Method("radio power in explosive air", "IEC 60079-0", "2017 table 5, in part from memory"),
    Method("optical radiation in explosive air", "IEC 60079-28", "2015"),
)

RANGES = {"case_temperature_c": (-40.0, 85.0)}  # the widest trade class of optics

#: ISO 12944-2:2017, mildest first, with the most that carbon steel loses in its first year
#: [um] (ISO 9223:2012 Table 2).
CORROSIVITY_UM_PER_YEAR = {"C1": 1.3, "C2": 25.0, "C3": 50.0, "C4": 80.0, "C5": 200.0, "CX": 700.0}
#: Withdrawn in ISO 12944-2:2017, still printed by suppliers: C5 as a rating.
_WITHDRAWN = {"C5I": "C5", "C5M": "C5"}
_CORROSIVITY_RANK = {code: rank for rank, code in enumerate(CORROSIVITY_UM_PER_YEAR)}

#: The least that suits an outdoor site, dust-protected and against splashing (common practice).
OUTDOOR_IP = "IP54"
_JETS = 6  # IEC 60529 clause 6: up to 6, a numeral includes all lower ones
_SPLASHING = 4


class Threshold(NamedTuple):
    """A limit for explosive air, with how it is known."""

    value: float
    basis: str


#: Transmitter output times antenna gain [W] by group (IEC 60079-0:2017 Table 5).
RF_THRESHOLD_W = {
    "I": Threshold(6.0, "from memory"),
    "IIA": Threshold(6.0, "standard"),
    "IIB": Threshold(3.5, "standard"),
    "IIC": Threshold(2.0, "standard"),
    "III": Threshold(6.0, "from memory"),
}
#: Optical power [mW] by group and temperature class (IEC 60079-28:2015 Table 2, continuous).
#: Edition 3 of 2025 leaves out equipment within Class 1 of IEC 60825-1.
OPTICAL_THRESHOLD_MW = {
    ("IIA", "T3"): Threshold(150.0, "from memory"),
    ("IIA", "T4"): Threshold(35.0, "from memory"),
    ("IIB", "T4"): Threshold(35.0, "from memory"),
    ("IIC", "T4"): Threshold(35.0, "from memory"),
    ("IIC", "T6"): Threshold(15.0, "from memory"),
}


#: Laser classes, harmless first (IEC 60825-1:2014 clause 4.3). From 1M on instruments that gather
#: light, from 3R on the open beam harms the eye.
LASER_CLASSES = ("1", "1C", "1M", "2", "2M", "3R", "3B", "4")
EYE_HARM_FROM = "3R"


def case_temperature_c(*, air_c: Figure, cage_rise_c: Figure) -> Figure:
    """Case of a pluggable optic [C]: the air around its device and the rise in the cage.

    cage_rise_c: 10 to 15 K (common practice; catalogue limits are those of the case, and a
    module's own reading is good to 3 K, SFF-8472). The limits of a part are its own.
    Valid: any figures; what a case may be is the part's own limit, -40 to 85 C at the widest
    (RANGES).
    Source: common practice for the rise of 10 to 15 K; SFF-8472 for the case as reference.

    >>> print(case_temperature_c(air_c=70, cage_rise_c=15))
    85
    """
    return air_c + cage_rise_c


def laser_rank(laser_class: str) -> int | None:
    """Place of a laser class, harmless 0; None if it is none, such as "LED" or a blank.

    Source: IEC 60825-1:2014 clause 4.3.
    laser_class: as a catalogue has it, "1M" or "Class 3B".
    Valid: classes 1 to 4 with or without the words laser and class, in any case; anything else
    gives None.

    >>> laser_rank("1"), laser_rank("Class 3b"), laser_rank("LED")
    (0, 6, None)
    """
    plain = re.sub(r"^(laser)?(class)?", "", re.sub(r"[\s_-]", "", laser_class).lower()).upper()
    return LASER_CLASSES.index(plain) if plain in LASER_CLASSES else None


def harms_the_eye(laser_class: str) -> bool | None:
    """Whether the open beam of a class harms the eye; None if the class is unknown.

    laser_class: as a catalogue has it.
    Valid: as `laser_rank`: anything that is no class gives None, and what is not known is not
    called safe.
    Source: IEC 60825-1:2014 clause 4.3.

    >>> harms_the_eye("1"), harms_the_eye("3B"), harms_the_eye("?")
    (False, True, None)
    """
    rank = laser_rank(laser_class)
    return None if rank is None else rank >= LASER_CLASSES.index(EYE_HARM_FROM)


def optical_mw(*, power_dbm: Figure) -> Figure:
    """Optical power [mW]. For several lanes take the sum of them.

    Valid: any level; -30 dBm is a microwatt.
    Source: definition of the dBm.

    >>> print(optical_mw(power_dbm=10))
    10.0
    """
    return 10 ** (power_dbm / 10)


def corrosivity_rank(code: str) -> int | None:
    """Place of a corrosivity category, mildest 0; None if it is not one.

    Source: ISO 12944-2:2017; C5-M and C5-I are withdrawn and count as C5.
    code: a category, "C3".
    Valid: C1 to CX, blanks and hyphens as they come; anything else gives None.

    >>> corrosivity_rank("C3"), corrosivity_rank("cx"), corrosivity_rank("C5-M")
    (2, 5, 4)
    """
    plain = re.sub(r"[\s_-]", "", code).upper()
    return _CORROSIVITY_RANK.get(_WITHDRAWN.get(plain, plain))


@lru_cache
def ip_numerals(code: str) -> tuple[tuple[int, int], ...]:
    """Numerals of an IP code, one pair for each code in it; X counts as 0; empty if it is none.

    Valid: codes with two numerals or X, joined by / ; , + or "and"; anything else gives an empty
    tuple.
    Source: IEC 60529:1989 with A2:2013, clause 4 (from memory).

    >>> ip_numerals("IP66/IP67"), ip_numerals("IPX4"), ip_numerals("splash-proof")
    (((6, 6), (6, 7)), ((0, 4),), ())
    """
    pairs = []
    for part in re.split(r"[/;,+]|\bAND\b", code.upper()):
        found = re.fullmatch(r"\s*(?:IP)?\s*([0-6X])([0-9X])K?[A-D]?[HMSW]{0,4}\s*", part)
        if found is None:
            return ()
        first, second = (0 if numeral == "X" else int(numeral) for numeral in found.groups())
        pairs.append((first, second))
    return tuple(pairs)


def _includes_water(held: int, needed: int) -> bool:
    if held <= _JETS:
        return held >= needed
    if needed <= _SPLASHING:
        return True  # immersion or hot jets: jets of water not tested, splashing taken as held
    return held == needed or (held, needed) == (8, 7)


def ip_meets(*, rated: str, needed: str) -> bool | None:
    """Whether one IP code includes another; None if either is not a code.

    Immersion (7, 8) does not include jets (5, 6), nor do hot jets (9) include either, unless
    both are marked: "IP66/IP67". Source: IEC 60529:1989 with A2:2013, clause 6 (from memory).
    rated, needed: IP codes, "IP66/IP67".
    Valid: codes as `ip_numerals` reads them; anything else gives None, and None is no pass.

    >>> ip_meets(rated="IP67", needed="IP66"), ip_meets(rated="IP66/IP67", needed="IP66")
    (False, True)
    """
    held, wanted = ip_numerals(rated), ip_numerals(needed)
    if not held or not wanted:
        return None
    return all(
        any(solid >= solid_needed and _includes_water(water, water_needed) for solid, water in held)
        for solid_needed, water_needed in wanted
    )


def gas_group(hazardous_area: str) -> str | None:
    """Equipment group in the words of a hazardous area; None if none is named.

    Dust groups IIIA to IIIC have one limit and count as III. The strictest that is named.
    hazardous_area: words of a site's row, "zone 2 IIB T4".
    Valid: I, IIA to IIC, III and IIIA to IIIC in capitals or not; words without one give None.
    "zone I" is a zone.
    Source: IEC 60079-0:2017 clause 4.

    >>> gas_group("zone 2 IIB T4"), gas_group("zone 22, IIIC"), gas_group("zone 1")
    ('IIB', 'III', None)
    """
    words = re.sub(r"\b(I{2,3})\s+(?=[ABC]\b)", r"\1", hazardous_area.upper())
    gases = re.findall(r"\bII[ABC]\b", words)
    if gases:
        return max(gases)
    found = re.search(r"\bIII(?=[ABC]?\b)|(?<!ZONE )\bI\b", words)
    return found.group() if found else None


def optical_threshold(hazardous_area: str) -> Threshold | None:
    """Optical power that does not ignite the air of a hazardous area; None if no gas is named.

    The limit of the group and temperature class that are named; where the class is not, the
    strictest of the group. Dust has none here: ask the authority.
    Source: IEC 60079-28:2015 Table 2.
    hazardous_area: words of a site's row, "zone 2 IIB T4".
    Valid: gas groups of IEC 60079-28, T1 to T6; dust, mining and words without a gas group give
    None.

    >>> optical_threshold("zone 1 IIB T4").value, optical_threshold("IIC").value
    (35.0, 15.0)
    """
    group = gas_group(hazardous_area)
    if group not in ("IIA", "IIB", "IIC"):
        return None
    named = re.search(r"\bT([1-6])\b", hazardous_area.upper())
    hottest = int(named.group(1)) if named else 6
    held = [
        threshold
        for (of_group, of_class), threshold in OPTICAL_THRESHOLD_MW.items()
        if of_group >= group and int(of_class[1:]) >= hottest
    ]
    return max(held, key=lambda threshold: threshold.value)


#: Level of a zone by its last digit, the most dangerous first (IEC 60079-14:2013 Table 1; from
#: memory): zones 0 and 20 want level a, 1 and 21 a or b, 2 and 22 any.
_LEVELS = "abc"


def ex_suits(*, marking: str, hazardous_area: str) -> bool:
    """Whether the marking of equipment shows that it is made for an explosive area.

    Level of protection for the zone, group and temperature class for what the air holds. What the
    words leave open is not shown: the certificate and the licensed assessment decide.
    marking: "Ex ia IIC T4 Ga". hazardous_area: words of a site's row, "zone 1 IIB T4".
    Valid: any words; False where the zone or the level of protection is not among them.
    Source: IEC 60079-14:2013 Table 1, IEC 60079-0 clause 29 (both from memory).

    >>> ex_suits(marking="Ex ia IIC T4 Ga", hazardous_area="zone 0 IIC")
    True
    >>> ex_suits(marking="Ex ec IIC T4 Gc", hazardous_area="zone 1 IIB")
    False
    """
    zone = re.search(r"\bZONE\s*(2?[012])\b", hazardous_area.upper())
    level = re.search(r"\b([GD])([abc])\b", marking)
    if zone is None or level is None:
        return False
    is_dust = len(zone.group(1)) > 1
    groups = gas_group(hazardous_area), gas_group(marking)
    classes = [re.search(r"\bT([1-6])\b", words.upper()) for words in (hazardous_area, marking)]
    return (
        (level.group(1) == "D") == is_dust
        and _LEVELS.index(level.group(2)) <= int(zone.group(1)[-1])
        and (groups[0] is None or (groups[1] or "") >= groups[0])
        and (classes[0] is None or (classes[1] or [""])[0] >= classes[0][0])
    )


CELL_FORMULAS = ("case_temperature_c", "optical_mw")
