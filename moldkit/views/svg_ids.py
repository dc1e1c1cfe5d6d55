"""Names inside a drawing numbered in their order, so that the same drawing is the same file."""

from __future__ import annotations

import re

# Where an SVG names a part of itself, and where it calls the name.
_NAMED = re.compile(r"""\bid=(["'])([^"']+)\1""")

# The class that the charts' library makes of a trace's own drawn name.
_TRACE = re.compile(r"\btrace[0-9a-f]{6}\b")


def numbered_ids(svg: bytes) -> bytes:
    """Return an SVG whose drawn names are numbered in the order in which they stand, wherever they are called.

    What draws it draws lots for them, so that two drawings of one chart differ. In a file they only name its parts.
    """
    text = svg.decode("utf-8")
    traces = {name: f"trace{number}" for number, name in enumerate(dict.fromkeys(_TRACE.findall(text)), 1)}
    text = _TRACE.sub(lambda match: traces[match[0]], text)
    names = dict.fromkeys(match[2] for match in _NAMED.finditer(text))
    if not names:
        return text.encode("utf-8")
    numbers = {name: f"part{number}" for number, name in enumerate(names, 1)}
    longest_first = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    called = re.compile(rf"""(\bid=["']|url\((?:["']|&quot;)?#|href=["']#)({longest_first})(?=["')]|&quot;)""")
    return called.sub(lambda match: match[1] + numbers[match[2]], text).encode("utf-8")
