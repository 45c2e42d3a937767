"""The published methods in use, with their editions: data that is printed beside the figures."""

from typing import NamedTuple


class Method(NamedTuple):
    """A published method.

    >>> Method("rain, specific attenuation", "ITU-R P.838", "3 (03/2005)").edition
    '3 (03/2005)'
    """

    subject: str
    document: str
    edition: str
