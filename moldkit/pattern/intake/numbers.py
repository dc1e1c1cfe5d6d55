"""Numbers written as text, read strictly: what is no number is an error, never a shorter list."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from moldkit.errors import InputError

# A whole number with more digits than this is no vertex number.
_MOST_DIGITS = 18


def decimals(words: Sequence[bytes], name: str) -> NDArray[np.float64]:
    """Return words of text as numbers, shape (n,); name: of the file. Raises InputError for a word that is none."""
    try:
        found = np.fromiter(map(float, words), dtype=np.float64, count=len(words))
    except ValueError:
        raise _no_number(words, name) from None
    # Python reads 1_000 as a thousand, which no mesh file means.
    if any(b"_" in word for word in words):
        raise _no_number([word for word in words if b"_" in word], name)
    return found


def whole_numbers(words: Iterable[bytes], name: str) -> NDArray[np.int64]:
    """Return words of text as whole numbers, shape (n,); name: of the file. Raises InputError."""
    listed = list(words)
    try:
        found = np.array(list(map(int, listed)), dtype=np.int64)
    except (ValueError, OverflowError):
        raise _no_number(listed, name, whole=True) from None
    if any(b"_" in word for word in listed):
        raise _no_number([word for word in listed if b"_" in word], name, whole=True)
    return found


def _no_number(words: Sequence[bytes], name: str, whole: bool = False) -> InputError:
    """Return the error that names the first word that isn't a number."""
    bad = next((word for word in words if not _is_number(word, whole)), b"?")
    told = bad[:20].decode("ascii", errors="replace")
    kind = "whole number" if whole else "number"
    return InputError(f"{name}: {told!r} stands where a {kind} should; export or copy the file again.")


def _is_number(word: bytes, whole: bool) -> bool:
    try:
        _ = int(word) if whole else float(word)
    except ValueError:
        return False
    return b"_" not in word and (not whole or len(word) <= _MOST_DIGITS)
