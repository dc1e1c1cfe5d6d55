"""Words from jobs and tables made fit to print: whatever stands in a name stays words."""

from __future__ import annotations

import re
import unicodedata

# Letters that a line may hold without a place to break at; longer runs get places where a line may break.
UNBROKEN = 18
BREAK_HERE = "\u200b"
ELLIPSIS = "…"
_LONG = re.compile(rf"\S{{{UNBROKEN + 1},}}")
# Marks that turn the direction of all that follows: a name must not turn the rest of its line.
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")


def safe_text(text: str) -> str:
    """Return text without what no page can show: control marks, halves of characters, marks that turn a line.

    Line ends and tabs become spaces; everything else stays as it is.
    """
    return "".join(_shown(letter) for letter in text).strip()


def _shown(letter: str) -> str:
    if letter in "\t\n\r\v\f\u0085\u2028\u2029":
        return " "
    code = ord(letter)
    outside = unicodedata.category(letter) in ("Cc", "Cs") or (code & 0xFFFE) == 0xFFFE or 0xFDD0 <= code <= 0xFDEF
    return "" if outside or letter in _TURNS else letter


def breakable(text: str) -> str:
    """Return safe text in which a long run of letters may break at the end of a line."""
    return _LONG.sub(lambda run: _parted(run.group()), safe_text(text))


def _parted(run: str) -> str:
    """Return a run with places to break at, never before a mark that belongs to the letter before it."""
    parts, last = [], 0
    for place in range(UNBROKEN, len(run)):
        joined = unicodedata.combining(run[place]) or run[place] in "\u200d\ufe0f" or run[place - 1] == "\u200d"
        if place - last >= UNBROKEN and not joined:
            parts.append(run[last:place])
            last = place
    return BREAK_HERE.join([*parts, run[last:]])


def shortened(text: str, most: int) -> str:
    """Return safe text of at most so many letters, the end of a longer one given up for an ellipsis."""
    clean = safe_text(text)
    return clean if len(clean) <= most else clean[: most - 1].rstrip() + ELLIPSIS
