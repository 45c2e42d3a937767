"""Site cards, radio: level, azimuth and tilt to be measured, with their tolerances."""

import numpy as np

from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import Card, Reading, turned_deg
from backhaul.book.sheets.site_card_radio import Setup, hop_name
from backhaul.book.sheets.site_index import Terminal
from backhaul.spreadsheet.cells import SheetCell

#: Levels read at a terminal agree with the budget within this [dB]: common practice, from memory.
LEVEL_TOLERANCE_DB = 3.0
#: An antenna may point off by a quarter of its beamwidth, 0.75 dB: common practice, from memory.
AIM_SHARE = 0.25


def least_received_dbm(*, received_dbm, tolerance_db, reflection_loss_db):
    """Lowest acceptable level [dBm]: with the tolerance, and the deepest fade over water.

    >>> print(least_received_dbm(received_dbm=-60.0, tolerance_db=3.0, reflection_loss_db=4.0))
    -67.0
    """
    return received_dbm - tolerance_db - reflection_loss_db


def greatest_received_dbm(*, received_dbm, tolerance_db):
    """Highest acceptable level [dBm].

    >>> print(greatest_received_dbm(received_dbm=-60.0, tolerance_db=3.0))
    -57.0
    """
    return received_dbm + tolerance_db


def greatest_mirrored_dbm(*, received_dbm, tolerance_db):
    """Highest acceptable level over water, where the two rays may add up [dBm].

    >>> print(greatest_mirrored_dbm(received_dbm=-60.0, tolerance_db=3.0))
    -50.97
    """
    return received_dbm + tolerance_db + 20 * np.log10(2.0)


def no_more_than_dbm(*, level_dbm, max_input_dbm):
    """A level, and no more than the receiver stands [dBm].

    >>> print(no_more_than_dbm(level_dbm=-28.0, max_input_dbm=-30.0))
    -30.0
    """
    return np.minimum(level_dbm, max_input_dbm)


def aim_low_deg(*, angle_deg, beamwidth_deg):
    """Lowest acceptable tilt [degrees].

    >>> print(aim_low_deg(angle_deg=0.2, beamwidth_deg=8.0))
    -1.8
    """
    return angle_deg - AIM_SHARE * beamwidth_deg


def aim_high_deg(*, angle_deg, beamwidth_deg):
    """Highest acceptable tilt [degrees].

    >>> print(aim_high_deg(angle_deg=0.2, beamwidth_deg=8.0))
    2.2
    """
    return angle_deg + AIM_SHARE * beamwidth_deg


def bearing_low_deg(*, angle_deg, beamwidth_deg):
    """Acceptable azimuth, anticlockwise end [degrees].

    >>> print(bearing_low_deg(angle_deg=1.0, beamwidth_deg=8.0))
    359.0
    """
    return turned_deg(angle_deg=angle_deg - AIM_SHARE * beamwidth_deg)


def bearing_high_deg(*, angle_deg, beamwidth_deg):
    """Acceptable azimuth, clockwise end [degrees].

    >>> print(bearing_high_deg(angle_deg=359.0, beamwidth_deg=8.0))
    1.0
    """
    return turned_deg(angle_deg=angle_deg + AIM_SHARE * beamwidth_deg)


def read_radio(card: Card, terminals: list[Terminal]) -> None:
    """Level, azimuth and tilt of each terminal."""
    for terminal in terminals:
        setup = Setup(card, terminal)
        _read_level(card, terminal, setup)
        if setup.hub is not None:
            continue  # its antenna is pointed once, as the set-up says
        for what, angle, how in (
            (
                "Azimuth, true",
                "azimuth",
                (
                    "First aim by compass (magnetic azimuth above, clear of "
                    "steel), then the peak of the level; read against a far mark or by satellite compass"
                ),
            ),
            ("Tilt", "tilt", "Inclinometer on the antenna's back, at the peak of the level"),
        ):
            _read_angle(card, terminal, setup, what, angle, how)


def _read_level(card: Card, terminal: Terminal, setup: Setup) -> None:
    tolerance = card.rule(
        "level_tolerance_db",
        "level read at a radio against the budget",
        LEVEL_TOLERANCE_DB,
        "dB",
        "common practice, to be confirmed",
    )
    link, index = terminal.link, terminal.link.index
    received = setup.value("received_dbm", heard=True)
    refs = {"received_dbm": f"{terminal.hears}.received_dbm", "tolerance_db": tolerance}
    values = {"received_dbm": received, "tolerance_db": LEVEL_TOLERANCE_DB}
    mirrored = bool(setup.radio.reflection.mirrored[index])
    lowest = card.computed(
        link,
        least_received_dbm,
        card.key(f"{terminal.name}.lowest"),
        {**refs, "reflection_loss_db": f"{terminal.hears}.reflection_loss_db"},
        {**values, "reflection_loss_db": setup.value("reflection_loss_db", heard=True)},
    )
    how = "The radio's own reading, both antennas at their peak, dry weather"
    chains = setup.value("received_dbm", heard=True) - setup.value("received_chain_dbm", heard=True)
    if chains > 0:
        how += (
            f"; all chains together, one that shows each of its chains reads {chains:.1f} dB less"
        )
    if mirrored:
        how += "; limits hold for any water level of the range, two rays"
    card.read(
        Reading(
            terminal.name,
            f"Level received, {hop_name(link)}",
            how,
            card.figure(
                link, refs["received_dbm"], card.key(f"{terminal.name}.expected"), received
            ),
            lowest,
            _highest(card, terminal, setup, refs, values, mirrored),
            "dBm",
        )
    )


def _highest(card: Card, terminal: Terminal, setup: Setup, refs, values, mirrored) -> SheetCell:
    formula = greatest_mirrored_dbm if mirrored else greatest_received_dbm
    stands = setup.own.radio.max_input_dbm
    key = card.key(f"{terminal.name}.highest")
    if not is_known(stands) or not is_known(values["received_dbm"]):
        return card.computed(terminal.link, formula, key, refs, values)

    def limited(*, received_dbm, tolerance_db, max_input_dbm):
        level = formula(received_dbm=received_dbm, tolerance_db=tolerance_db)
        return no_more_than_dbm(level_dbm=level, max_input_dbm=max_input_dbm)

    return card.computed(
        terminal.link,
        limited,
        key,
        {**refs, "max_input_dbm": f"{terminal.hears}.max_input_dbm"},
        {**values, "max_input_dbm": float(stands)},
    )


def _read_angle(card, terminal, setup, what: str, angle: str, how: str) -> None:
    is_bearing = angle == "azimuth"
    name = f"{terminal.name}.{angle}"
    value = setup.azimuth_deg() if is_bearing else setup.tilt_deg()
    refs = {
        "angle_deg": f"{terminal.sends}.{angle}_deg",
        "beamwidth_deg": f"{terminal.sends}.beamwidth_deg",
    }
    values = {"angle_deg": value, "beamwidth_deg": setup.beamwidth_deg()}
    low, high = (bearing_low_deg, bearing_high_deg) if is_bearing else (aim_low_deg, aim_high_deg)
    card.read(
        Reading(
            name,
            f"{what}, {hop_name(terminal.link)}",
            f"{how}. Limits: a quarter of the beamwidth, 0.75 dB, common practice",
            card.figure(terminal.link, refs["angle_deg"], card.key(f"{name}.expected"), value),
            card.computed(terminal.link, low, card.key(f"{name}.lowest"), refs, values),
            card.computed(terminal.link, high, card.key(f"{name}.highest"), refs, values),
            "°",
            is_bearing=is_bearing,
            instrument="compass and satellite compass or far mark"
            if is_bearing
            else "inclinometer",
        )
    )
