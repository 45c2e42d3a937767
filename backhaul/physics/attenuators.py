"""Fixed attenuators: which one of a catalogue settles an overload at both of its tolerances."""

import numpy as np

from backhaul.methods import Figure, Method

METHODS = (
    Method("fixed attenuator by its tolerance", "receiver overload of IEEE 802.3, ITU-T G.957", ""),
)

RANGES = {"nominal_db": (1.0, 30.0)}  # fixed attenuators that are on the market, common practice

#: Decimals at which levels are compared, so that 0.3 - 0.1 - 0.2 is 0.
_DECIMALS = 6


def overload_with_db(*, overload_margin_db: Figure, attenuator_min_db: Figure) -> Figure:
    """Room below overload with an attenuator that adds its least [dB].

    Valid: any figures in dB, a room below 0 is an overload.
    Source: IEEE 802.3-2018 Clause 52, receiver overload; sum of levels.

    >>> print(overload_with_db(overload_margin_db=-4.8, attenuator_min_db=4.5))
    -0.3
    """
    return overload_margin_db + attenuator_min_db


def margin_with_db(*, margin_db: Figure, attenuator_max_db: Figure) -> Figure:
    """Margin with an attenuator that adds its most [dB].

    Valid: any figures in dB, a margin below 0 is none.
    Source: IEEE 802.3-2018 Clause 52; sum of levels.

    >>> print(margin_with_db(margin_db=9.0, attenuator_max_db=7.7))
    1.3
    """
    return margin_db - attenuator_max_db


def attenuator_settles(
    *,
    margin_db: Figure,
    overload_margin_db: Figure,
    wanted_overload_margin_db: Figure,
    attenuator_min_db: Figure,
    attenuator_max_db: Figure,
) -> Figure:
    """Whether one attenuator settles the overload of one direction and leaves a margin there.

    At its least it reaches the wanted room, at its most it leaves a margin of 0 or more. A blank
    room is no overload to settle, a blank margin is not settled.
    Valid: attenuator_min_db up to attenuator_max_db, levels to 1e-6 dB. NaN in a margin or in a
    tolerance is not settled, as an attenuator_min_db below 0 is not.
    Source: IEEE 802.3-2018 Clause 52 and ITU-T G.957 clause 8, receiver overload.

    >>> bool(attenuator_settles(margin_db=9, overload_margin_db=-4.8,
    ...                         wanted_overload_margin_db=0,
    ...                         attenuator_min_db=4.5, attenuator_max_db=5.5))
    False
    """
    room_db = overload_with_db(
        overload_margin_db=overload_margin_db, attenuator_min_db=attenuator_min_db
    )
    left_db = margin_with_db(margin_db=margin_db, attenuator_max_db=attenuator_max_db)
    return np.logical_and(
        np.logical_and(
            np.logical_not(np.round(room_db - wanted_overload_margin_db, _DECIMALS) < 0),
            attenuator_min_db >= 0,
        ),
        np.round(left_db, _DECIMALS) >= 0,
    )


def choose_attenuator(
    *,
    margin_db: Figure,
    overload_margin_db: Figure,
    wanted_overload_margin_db: Figure,
    nominal_db: Figure,
    min_db: Figure,
    max_db: Figure,
) -> Figure:
    """Which attenuator of a catalogue to fit; array code. Index, -1 none needed, -2 none helps.

    margin_db, overload_margin_db: (..., directions), every direction that the row stands in: one
    row in both strands of a pair counts in both, a row in one strand in one. nominal_db, min_db,
    max_db: (attenuators,), in any order, only those whose plug and polish fit. The smallest
    nominal value that settles every direction, of equal ones the first.
    Source: minimum path loss of IEEE 802.3-2018 Clause 52 and ITU-T G.957 clause 8.
    Valid: one count in nominal_db, min_db and max_db, else numpy raises ValueError; an empty
    catalogue helps nobody. NaN as in `attenuator_settles`.

    >>> catalogue = {"nominal_db": [3, 5, 7], "min_db": [2.5, 4.5, 6.3], "max_db": [3.5, 5.5, 7.7]}
    >>> choose_attenuator(margin_db=[[9, 9], [9, 2], [9, 9]],
    ...                   overload_margin_db=[[-4.8, 1], [-4.8, 1], [0.5, 1]],
    ...                   wanted_overload_margin_db=0, **catalogue)
    array([ 2, -2, -1])
    """
    nominal = np.asarray(nominal_db, dtype=float)
    room = np.asarray(overload_margin_db, dtype=float)
    short = np.round(wanted_overload_margin_db - room, _DECIMALS) > 0
    is_needed = np.any(short, axis=-1)
    if nominal.size == 0:
        return np.where(is_needed, NONE_HELPS, NONE_NEEDED)
    settled = attenuator_settles(
        margin_db=np.asarray(margin_db, dtype=float)[..., None],
        overload_margin_db=room[..., None],
        wanted_overload_margin_db=wanted_overload_margin_db,
        attenuator_min_db=np.asarray(min_db, dtype=float),
        attenuator_max_db=np.asarray(max_db, dtype=float),
    ).all(axis=-2)
    best = np.argmin(np.where(settled, nominal, np.inf), axis=-1)
    found = np.where(settled.any(axis=-1), best, NONE_HELPS)
    return np.where(is_needed, found, NONE_NEEDED)


#: What `choose_attenuator` answers beside an index.
NONE_NEEDED, NONE_HELPS = -1, -2

CELL_FORMULAS = ("overload_with_db", "margin_with_db", "attenuator_settles")
