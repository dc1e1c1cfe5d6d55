"""The errors a user may meet, each one sentence: what is wrong, where, and how to mend it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

# The command line's answer to the shell for bad input.
BAD_INPUT = 2


class MoldkitError(Exception):
    """Anything moldkit says to a user in one sentence."""


class InputError(MoldkitError):
    """Something given to moldkit (a file, a figure, a word) cannot be used as it is."""


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """Return the choice that is spelt most like `word`, or None when none is close."""
    known = {choice.lower(): choice for choice in choices}
    close = difflib.get_close_matches(word.lower(), list(known), n=1, cutoff=0.5)
    return known[close[0]] if close else None


def unknown(kind: str, word: str, choices: Iterable[str], where: str = "") -> InputError:
    """Return the error for a word that is not among `choices`, with the nearest one and the list.

    kind: what the word names ("casting material"); where: the file, key or field it stands in.
    """
    listed = sorted(choices)
    close = nearest(word, listed)
    place = f"{where}: " if where else ""
    hint = f"did you mean {close!r}? " if close else ""
    return InputError(f"{place}unknown {kind} {word!r}; {hint}Known: {', '.join(listed)}.")
