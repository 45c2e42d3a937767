"""What surrounds a device: corrosion, dust and water, heat, explosive air. Plain functions.

Explosive air is information only: whether equipment may stand there is for the competent
authority, the local code and licensed practice to say.
"""

import re
from typing import NamedTuple

from backhaul.methods import Method

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


def corrosivity_rank(code: str) -> int | None:
    """Place of a corrosivity category, mildest 0; None if it is not one.

    Source: ISO 12944-2:2017; C5-M and C5-I are withdrawn and count as C5.

    >>> corrosivity_rank("C3"), corrosivity_rank("cx"), corrosivity_rank("C5-M")
    (2, 5, 4)
    """
    plain = re.sub(r"[\s_-]", "", code).upper()
    return _CORROSIVITY_RANK.get(_WITHDRAWN.get(plain, plain))


def ip_numerals(code: str) -> tuple[tuple[int, int], ...]:
    """Numerals of an IP code, one pair for each code in it; X counts as 0; empty if it is none.

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

    >>> gas_group("zone 2 IIB T4"), gas_group("zone 22, IIIC"), gas_group("zone 1")
    ('IIB', 'III', None)
    """
    words = re.sub(r"\b(I{2,3})\s+(?=[ABC]\b)", r"\1", hazardous_area.upper())
    gases = re.findall(r"\bII[ABC]\b", words)
    if gases:
        return max(gases)
    found = re.search(r"\bIII(?=[ABC]?\b)|(?<!ZONE )\bI\b", words)
    return found.group() if found else None


CELL_FORMULAS = ()
