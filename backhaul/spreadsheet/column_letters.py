"""Letters of columns, both ways."""

from functools import cache


@cache
def column_letters(number: int) -> str:
    """Letters of a column, from 1.

    >>> column_letters(1), column_letters(28), column_letters(16384)
    ('A', 'AB', 'XFD')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Number of a column from its letters.

    >>> column_number("A"), column_number("AB")
    (1, 28)
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number
