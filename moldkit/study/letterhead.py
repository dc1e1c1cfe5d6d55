"""The shop as a client sees it: its name, its colours, its logo."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from pathlib import Path

from moldkit.errors import InputError
from moldkit.study.safe_logo import safe_png, safe_svg
from moldkit.tables import Row

LOGOS = {".svg": "image/svg+xml", ".png": "image/png"}
MOST_BYTES = 300_000


@dataclass(frozen=True)
class Logo:
    """A picture: its media type and its bytes. Show an SVG as an image, never in line."""

    media_type: str
    content: bytes

    @property
    def address(self) -> str:
        """The picture as the source of an image element."""
        return f"data:{self.media_type};base64,{base64.b64encode(self.content).decode('ascii')}"


@dataclass(frozen=True)
class Letterhead:
    """A shop's name, its colours as "#rrggbb" (the main one first; none: the kit's own), its logo."""

    name: str
    colours: tuple[str, ...] = ()
    logo: Logo | None = None


def letterhead(shop: Row, folder: Path) -> Letterhead:
    """Return the letterhead of a shop.

    folder: the data folder, in which the logo lies. Of the logo only what draws is kept. Raises InputError for one that
    is missing, outside the folder, neither SVG nor PNG, damaged, or larger than 300 kB.
    """
    colours = tuple(shop.text(key) for key in ("main_colour", "second_colour") if shop.values.get(key))
    return Letterhead(shop.text("name"), colours, _logo(shop, folder) if shop.values.get("logo") else None)


def _logo(shop: Row, folder: Path) -> Logo:
    name = shop.text("logo")
    kind = LOGOS.get(Path(name).suffix.lower())
    if kind is None:
        raise InputError(f"{shop.where} logo: {name!r} is neither an SVG nor a PNG file; give one of these.")
    where = f"{shop.where} logo {name!r}"
    if not (folder / name).resolve().is_relative_to(folder.resolve()):
        raise InputError(f"{where}: lies outside the data folder; put it there and give its name alone.")
    try:
        content = (folder / name).read_bytes()
    except OSError as fault:
        raise InputError(
            f"{shop.where} logo: {name!r} cannot be read from the data folder ({fault.strerror}); put it there or take "
            "the line out."
        ) from None
    if len(content) > MOST_BYTES:
        raise InputError(f"{shop.where} logo: {name!r} is larger than 300 kB; give a smaller picture.")
    return Logo(kind, safe_svg(content, where) if kind == LOGOS[".svg"] else safe_png(content, where))
