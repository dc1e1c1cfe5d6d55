"""How a chart for a client looks: light, dark or black on white, the shop's own colours made to stand out enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from moldkit.views.offer_page.colours import DARK, LIGHT, theme

LookName = Literal["light", "dark", "print"]
LOOKS: tuple[LookName, ...] = ("light", "dark", "print")
# Black on white: a printer without colours shows greys, a copy of a copy only the darkest of them.
PRINT = {"ground": "#ffffff", "ink": "#000000", "quiet": "#404040", "edge": "#595959", "hair": "#cccccc"}


@dataclass(frozen=True)
class Look:
    """Colours "#rrggbb" of one look.

    ground: behind all; ink, quiet: words, large and small; edge: axes; hair: lines that only guide the eye; main: the
    curve and its dots; main_text: words in the main colour; second: what is set off against it.
    """

    name: LookName
    ground: str
    ink: str
    quiet: str
    edge: str
    hair: str
    main: str
    main_text: str
    second: str


def look(name: LookName, colours: Sequence[str] = ()) -> Look:
    """Return a look; colours: the shop's own "#rrggbb", the main one first, none for the kit's."""
    if name == "print":
        return Look(name, **PRINT, main="#000000", main_text="#000000", second="#595959")
    found = theme(colours, LIGHT if name == "light" else DARK)
    kept = {key: found[key] for key in ("ground", "ink", "quiet", "edge", "hair", "main", "second")}
    return Look(name, **kept, main_text=found["main-text"])
