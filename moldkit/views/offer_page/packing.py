"""Columns of whole numbers as short text that stands safely in a page, and that the page's script unpacks exactly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

# Five bits a letter; the upper half of the letters says that more follow.
LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz-_"
BITS = 5
MORE = 1 << BITS


def packed(figures: Iterable[int]) -> str:
    """Return whole numbers, shape (n,), as text: the change from each to the next, the first from nought.

    A change is written twice over, its sign in the last bit (3 as 6, -3 as 5); nought and a count stand for so many
    figures without a change. What is written goes five bits a letter, the lowest first.
    """
    return "".join(_letters(number) for number in _numbers(figures))


def _numbers(figures: Iterable[int]) -> Iterator[int]:
    for change, same in groupby(_changes(figures)):
        count = sum(1 for _ in same)
        if change == 0:
            yield from (0, count)
        else:
            yield from (2 * change if change > 0 else -2 * change - 1,) * count


def _changes(figures: Iterable[int]) -> Iterator[int]:
    last = 0
    for figure in figures:
        yield figure - last
        last = figure


def _letters(number: int) -> str:
    text = ""
    while number >= MORE:
        text += LETTERS[MORE | number % MORE]
        number >>= BITS
    return text + LETTERS[number]
