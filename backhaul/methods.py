"""What formulas take and give, and the published methods in use: data beside the figures."""

from typing import Any, NamedTuple, TypeAlias

#: A number, an array of numbers, or a cell of a spreadsheet: a formula is written once for all.
Figure: TypeAlias = Any


class Method(NamedTuple):
    """A published method.

    >>> Method("rain, specific attenuation", "ITU-R P.838", "3 (03/2005)").edition
    '3 (03/2005)'
    """

    subject: str
    document: str
    edition: str
