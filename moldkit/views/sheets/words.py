"""Spans of time and lists as words on a sheet."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence


def hours_and_minutes(seconds: float, *, latest: bool = False) -> str:
    """Return a span [s] as hours and minutes, "1 h 05 min", a short one in seconds too.

    latest: it must not be overrun, so that it is never rounded up.
    """
    if seconds < 120:
        return f"{math.floor(seconds + 1e-6) if latest else round(seconds)} s"
    minutes = math.floor(seconds / 60 + 1e-6) if latest else round(seconds / 60)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"


def listed(words: Sequence[str]) -> str:
    """Return words as a list in a sentence: "a, b and c"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def day_words(when: datetime.date) -> str:
    """Return a day as it is said at the bench: weekday and date."""
    return f"{when:%a} {when.day} {when:%b %Y}"


def moment_words(when: datetime.datetime) -> str:
    """Return a moment of a plan: weekday, date and time of day."""
    return f"{when:%a} {when.day} {when:%b}, {when:%H:%M}"
