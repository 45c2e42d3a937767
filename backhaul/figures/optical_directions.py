"""Light of one optic of a link to the other: who sends, who hears, which limits speak of it."""

from typing import Any, NamedTuple

#: `dispersion_basis` of an optic whose limit is the dispersion of its reach, none being published.
FROM_REACH = "reach"
#: Form of a budget that is given by power.
FORM_P = "P"


class Direction(NamedTuple):
    """Light of one optic of a link to the other.

    sends_on, hears_on: what the catalogue says of the two optics on the fibers of the link.
    is_same_class: both are of one class, or the two ends of one bidirectional pair.
    """

    link: Any
    #: 0 from the near end of the link, 1 from its far end
    way: int
    sender: Any
    receiver: Any
    sends_on: tuple[Any, ...]
    hears_on: tuple[Any, ...]
    is_same_class: bool
    #: a single-mode run that is long enough to be dug up
    has_long_run: bool
    project: Any
    FAMILIES = {
        "sender": "optics",
        "receiver": "optics",
        "penalized": "optics",
        "spread": "optics",
        "reach": "optic_reach",
        "project": "project",
    }

    @property
    def letter(self) -> str:
        """Short name in keys of cells."""
        return "b" if self.way else "a"

    @property
    def sender_row(self) -> Any:
        return self.link.rows[0 if self.way == 0 else -1]

    @property
    def receiver_row(self) -> Any:
        return self.link.rows[-1 if self.way == 0 else 0]

    @property
    def place(self) -> int:
        """Where it stands in the arrays over directions."""
        return 2 * self.link.index + self.way

    @property
    def opposite(self) -> int:
        """Where the other direction of its link stands."""
        return 2 * self.link.index + 1 - self.way

    @property
    def form(self) -> str:
        """Form of the published budget of what is heard."""
        return self.receiver.budget_form or FORM_P

    @property
    def penalized(self) -> Any:
        """The optic whose penalty is taken off; None in form C, which holds it already.

        The allocation of a class is that of the transmit direction; between unlike ends it is
        what the receiver loses.
        """
        if self.form != FORM_P:
            return None
        return self.sender if self.is_same_class else self.receiver

    @property
    def spread(self) -> Any:
        """The receiver, where its dispersion limit speaks of the light that it hears.

        None where that limit was computed from its reach and so at its own wavelength, and the
        light is of another: in a bidirectional pair each end's reach is that of what it sends.
        """
        hears, nm = self.receiver, self.sender.tx_nominal_nm
        if hears.dispersion_basis != FROM_REACH or None in (nm, hears.tx_min_nm, hears.tx_max_nm):
            return hears
        return hears if hears.tx_min_nm <= nm <= hears.tx_max_nm else None

    @property
    def reach(self) -> Any:
        """The tightest published channel limit of the optic on these fibers, None without one."""
        limited = [row for row in self.sends_on if row.channel_loss_max_db is not None]
        if not self.is_same_class or not limited:
            return None
        return min(limited, key=lambda row: row.channel_loss_max_db)
