"""A shop's logo made safe to hand on: shapes and colours stay; scripts, links, words of the file's maker do not."""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator
from xml.etree import ElementTree

from moldkit.errors import InputError

SVG_SPACE = "http://www.w3.org/2000/svg"
LINK_SPACE = "http://www.w3.org/1999/xlink"
# What draws, and what is drawn with. Whatever else an SVG may hold (scripts, foreign content, pictures, links,
# animation, notes, style sheets that fetch) is left out.
# Source: Scalable Vector Graphics (SVG) 1.1, element index and attribute index.
SHAPES = frozenset(
    "svg g defs style symbol use path rect circle ellipse line polyline polygon text tspan clipPath mask pattern "  # noqa: SIM905
    "linearGradient radialGradient stop marker".split()
)
ATTRIBUTES = frozenset(
    "id class viewBox width height x y x1 y1 x2 y2 cx cy r rx ry fx fy d points transform fill fill-rule stroke "  # noqa: SIM905
    "fill-opacity "
    "stroke-width stroke-linecap stroke-linejoin stroke-miterlimit stroke-dasharray stroke-dashoffset stroke-opacity "
    "opacity color stop-color stop-opacity offset gradientUnits gradientTransform spreadMethod patternUnits "
    "patternContentUnits patternTransform clip-path clip-rule clipPathUnits mask maskUnits maskContentUnits "
    "preserveAspectRatio font-family font-size font-weight font-style text-anchor letter-spacing dx dy rotate "
    "marker-start marker-mid marker-end markerWidth markerHeight markerUnits refX refY orient display visibility "
    "vector-effect paint-order version style".split()
)
# Parts whose words are drawn, or say how to draw; between others words are only notes.
WORDED = ("text", "tspan", "style")
# A reference within the file is "#name" or "url(#name)"; any other one leads out of it.
OWN_LINK = re.compile(r"#[\w.-]+")
REFERENCE = re.compile(r"url\(\s*['\"]?(?!#)", re.IGNORECASE)
HIDDEN = re.compile(r"javascript:|data:|expression\(|@import|\\", re.IGNORECASE)
MOST_PARTS = 20_000
# Parts that repeat others: they may repeat each other, and so many more would take for ever to draw.
MOST_USES = 20
PNG = b"\x89PNG\r\n\x1a\n"
# Of a PNG what draws it; notes, dates, places and programs that wrote it are left out.
# Source: Portable Network Graphics (Third Edition), section 11.
CHUNKS = frozenset((b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB"))
MOST_SIDE = 8_192


def safe_svg(content: bytes, where: str) -> bytes:
    """Return an SVG picture with nothing in it but what draws; raises InputError naming `where` where it is none."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{where}: is not UTF-8 text; save the SVG again as UTF-8.") from None
    if re.search(r"<!(ENTITY|ATTLIST|ELEMENT)", text, re.IGNORECASE):
        raise InputError(f"{where}: declares entities of its own; save it as a plain SVG.")
    try:
        # The declaration of a document type is of no use to a picture, and may name another host.
        root = ElementTree.fromstring(re.sub(r"<!DOCTYPE[^>\[]*(\[[^\]]*\])?[^>]*>", "", text, flags=re.IGNORECASE))
    except (ElementTree.ParseError, ValueError, RecursionError) as fault:
        raise InputError(f"{where}: cannot be read as an SVG ({fault}); save it again as a plain SVG.") from None
    if _own_name(root.tag) != "svg":
        raise InputError(f"{where}: holds no SVG picture; save it again as a plain SVG.")
    if sum(1 for _ in root.iter()) > MOST_PARTS:
        raise InputError(f"{where}: has more than {MOST_PARTS} parts; give a simpler drawing.")
    if sum(1 for part in root.iter() if _own_name(part.tag) in ("use", "pattern", "mask", "marker")) > MOST_USES:
        raise InputError(f"{where}: repeats more than {MOST_USES} of its parts; save it as a plain SVG.")
    try:
        clean = _cleaned(root)
    except RecursionError:
        raise InputError(f"{where}: its parts are nested too deep; save it as a plain SVG.") from None
    clean.set("xmlns", SVG_SPACE)
    return bytes(ElementTree.tostring(clean, encoding="utf-8"))


def _own_name(tag: object) -> str:
    """Return the name of an SVG element, "" for any other thing: of another name space, a comment, an instruction."""
    if not isinstance(tag, str):
        return ""
    space, _, name = tag.rpartition("}")
    return name if space in ("", f"{{{SVG_SPACE}") else ""


def _cleaned(part: ElementTree.Element) -> ElementTree.Element:
    kept = ElementTree.Element(_own_name(part.tag), dict(_attributes(part)))
    worded = kept.tag in WORDED
    kept.text = part.text if worded else None
    for child in part:
        if _own_name(child.tag) in SHAPES and not (_own_name(child.tag) == "style" and _leads_out(child.text or "")):
            clean = _cleaned(child)
            clean.tail = child.tail if worded else None
            kept.append(clean)
    return kept


def _leads_out(text: str) -> bool:
    """Return whether an attribute or a style sheet may fetch something, or run it."""
    return bool(REFERENCE.search(text) or HIDDEN.search(text))


def _attributes(part: ElementTree.Element) -> Iterator[tuple[str, str]]:
    for name, value in part.attrib.items():
        if name in ("href", f"{{{LINK_SPACE}}}href"):
            if OWN_LINK.fullmatch(value):
                yield "href", value
        elif name in ATTRIBUTES and not _leads_out(value):
            yield name, value


def safe_png(content: bytes, where: str) -> bytes:
    """Return a PNG picture without the notes in it; raises InputError naming `where` for one that is none."""
    if not content.startswith(PNG):
        raise InputError(f"{where}: is no PNG picture, whatever its name says; save it again as a PNG.")
    chunks = list(_chunks(content, where))
    if not chunks or chunks[0][0] != b"IHDR" or chunks[-1][0] != b"IEND":
        raise InputError(f"{where}: is cut off or damaged; save the PNG again.")
    wide, high = struct.unpack(">II", chunks[0][1][:8])
    if not (0 < wide <= MOST_SIDE and 0 < high <= MOST_SIDE):
        raise InputError(f"{where}: is {wide} x {high} dots; give a picture of at most {MOST_SIDE} each way.")
    return PNG + b"".join(_chunk(kind, body) for kind, body in chunks if kind in CHUNKS)


def _chunks(content: bytes, where: str) -> Iterator[tuple[bytes, bytes]]:
    at = len(PNG)
    while at + 12 <= len(content):
        size = int.from_bytes(content[at : at + 4], "big")
        kind, body = content[at + 4 : at + 8], content[at + 8 : at + 8 + size]
        check = content[at + 8 + size : at + 12 + size]
        if len(body) != size or check != struct.pack(">I", zlib.crc32(kind + body)):
            raise InputError(f"{where}: is cut off or damaged; save the PNG again.")
        yield kind, body
        if kind == b"IEND":
            return
        at += 12 + size


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
