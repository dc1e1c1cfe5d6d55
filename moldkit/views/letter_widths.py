"""How wide a text stands at the most, in a drawing that is read with whatever fonts a reader has."""

from __future__ import annotations

import unicodedata

# Advance widths of DejaVu Sans and its bold cut, by kind of letter and rounded up [share of the type's size]; of the
# sans-serif fonts that readers have it is the widest.
# Source: the font's own table of advance widths.
NARROW = frozenset("iljIftr.,:;'|!()[]-")
PLAIN = {"space": 0.32, "narrow": 0.42, "digit": 0.64, "small": 0.64, "wide": 1.0, "capital": 0.79}
BOLD = {"space": 0.35, "narrow": 0.50, "digit": 0.70, "small": 0.72, "wide": 1.11, "capital": 0.86}
WIDE = frozenset("mwMW%@—…+=<>")
THIN = {"\u202f": 0.2, "\u2009": 0.2, "\u200b": 0.0}


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return about the most that a text in one line takes, in the unit of `size`, its type's size."""
    shares = BOLD if bold else PLAIN
    return size * sum(_share(letter, shares) for letter in text)


def _share(letter: str, shares: dict[str, float]) -> float:
    if letter in THIN:
        return THIN[letter]
    if unicodedata.combining(letter) or unicodedata.category(letter) in ("Cf", "Mn", "Me"):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.1
    return shares[_kind(letter)]


def _kind(letter: str) -> str:
    if letter in NARROW:
        return "narrow"
    if letter in WIDE:
        return "wide"
    if letter.isspace():
        return "space"
    if letter.isdecimal():
        return "digit"
    return "small" if letter.islower() or letter in "·" else "capital"


def lines_of(text: str, size: float, room: float, *, most: int, bold: bool = False) -> list[str]:
    """Return a text in lines of at most so much room, at most so many of them; the last may end with an ellipsis."""
    lines: list[str] = []
    # At plain spaces only: a thin one stands within a figure.
    words = [word for word in text.split(" ") if word]
    while words and len(lines) < most:
        line = _first_line(words, size, room, bold)
        lines.append(line)
    if words and lines:
        lines[-1] = _shortened(f"{lines[-1]} {words[0]}", size, room, bold)
    return lines


def _first_line(words: list[str], size: float, room: float, bold: bool) -> str:
    """Take from the words what stands in a line; one that is wider than a line is parted."""
    line = ""
    while words:
        longer = f"{line} {words[0]}" if line else words[0]
        if width(longer, size, bold=bold) <= room:
            line = longer
            words.pop(0)
            continue
        if not line:
            line, words[0] = _parted(words[0], size, room, bold)
        break
    return line


def _parted(word: str, size: float, room: float, bold: bool) -> tuple[str, str]:
    place = next(n for n in range(len(word), 0, -1) if n == 1 or width(word[:n], size, bold=bold) <= room)
    while 1 < place < len(word) and (unicodedata.combining(word[place]) or "\u200d" in word[place - 1 : place + 1]):
        place -= 1
    return word[:place], word[place:]


def _shortened(text: str, size: float, room: float, bold: bool) -> str:
    while text and width(f"{text}…", size, bold=bold) > room:
        text = text[:-1]
    return f"{text.rstrip(' ,;.')}…"
