"""A logo that is handed on holds what draws, and nothing that runs, fetches or tells of who made it."""

from __future__ import annotations

import struct
import zlib
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from moldkit.errors import InputError
from moldkit.study.knowledge import load_knowledge
from moldkit.study.letterhead import letterhead
from moldkit.study.safe_logo import safe_png, safe_svg

HEAD = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 9 9"'
SHAPE = '<path d="M0 0h9v9z" fill="#1f5c7a"/>'


def clean(inner: str, head: str = "", before: str = "") -> str:
    return safe_svg(f"{before}<svg {HEAD} {head}>{inner}{SHAPE}</svg>".encode(), "logo").decode()


DANGERS = [
    "<script>alert(1)</script>",
    "<SCRIPT xmlns='http://www.w3.org/1999/xhtml'>alert(1)</SCRIPT>",
    "<a href='https://x.test'><circle r='1'/></a>",
    "<image href='https://x.test/a.png'/>",
    "<image href='data:image/svg+xml;base64,AAAA'/>",
    "<use href='https://x.test/a.svg#b'/>",
    "<use xlink:href='other.svg#b'/>",
    "<foreignObject><body xmlns='http://www.w3.org/1999/xhtml'>alert</body></foreignObject>",
    "<animate attributeName='href' to='javascript:alert(1)'/>",
    "<set attributeName='onload' to='alert(1)'/>",
    "<style>@import url(https://x.test/a.css);</style>",
    "<style>@font-face{src:url('https://x.test/a.woff')}</style>",
    "<style>path{background:u\\72l(https://x.test)}</style>",
    '<rect fill="url(https://x.test/#a)"/>',
    "<rect style=\"fill:url( 'https://x.test/#a')\"/>",
    "<rect onload='alert(1)' onclick='alert(1)'/>",
    "<metadata>made by alert in x.test</metadata>",
    "<title>alert</title><desc>x.test</desc>",
    "<!-- alert x.test --><?php alert ?>",
    "<g>alert x.test<rect/>alert</g>",
]


@pytest.mark.parametrize("danger", DANGERS)
def test_nothing_that_runs_fetches_or_tells_is_left(danger: str) -> None:
    found = clean(danger)
    for word in ("alert", "x.test", "script", "javascript", "data:", "other.svg", "onload", "import", "font-face"):
        assert word not in found.lower()
    assert 'd="M0 0h9v9z"' in found


def test_what_draws_is_left_as_it_is() -> None:
    drawn = (
        '<defs><linearGradient id="a"><stop offset="0" stop-color="#fff"/></linearGradient>'
        '<path id="b" d="M1 1z"/></defs>'
        '<style>.c{fill:#a8541c}</style><g class="c" transform="scale(2)"><circle cx="1" cy="2" r="3"/></g>'
        '<rect fill="url(#a)" style="stroke:#000"/><use xlink:href="#b"/>'
        '<text x="1" font-size="2">Tide<tspan>water</tspan></text>'
    )
    found = clean(drawn)
    for part in (
        ".c{fill:#a8541c}",
        'class="c"',
        'fill="url(#a)"',
        'href="#b"',
        "Tide",
        ">water</",
        'stop-color="#fff"',
    ):
        assert part in found
    assert safe_svg(found.encode(), "logo").decode() == found
    ElementTree.fromstring(found)


BOMB = (
    '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
)  # fmt: skip
REFUSED = [
    (b"\xff\xfe<\x00s\x00", "is not UTF-8 text"),
    (b"", "cannot be read as an SVG"),
    (b"<svg", "cannot be read as an SVG"),
    (b"<html xmlns='http://www.w3.org/1999/xhtml'/>", "holds no SVG picture"),
    ((BOMB + f"<svg {HEAD}><text>&b;</text></svg>").encode(), "declares entities"),
    ((f"<svg {HEAD}>" + "<g>" * 30_000 + "</g>" * 30_000 + "</svg>").encode(), "more than 20000 parts"),
    ((f"<svg {HEAD}>" + "<g>" * 5_000 + "</g>" * 5_000 + "</svg>").encode(), "nested too deep"),
    ((f"<svg {HEAD}>" + "<use href='#a'/>" * 30 + "</svg>").encode(), "repeats more than 20"),
]


@pytest.mark.parametrize(("content", "words"), REFUSED)
def test_what_is_no_picture_or_would_never_be_drawn_is_refused_in_one_sentence(content: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as fault:
        safe_svg(content, "shop.toml logo 'logo.svg'")
    assert str(fault.value).startswith("shop.toml logo 'logo.svg': ")


def test_the_usual_declaration_of_a_drawing_program_does_no_harm() -> None:
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    assert "DTD" not in clean("", before=f'<?xml version="1.0" encoding="UTF-8"?>{doctype}')


def png(*notes: tuple[bytes, bytes], wide: int = 2) -> bytes:
    rows = zlib.compress(b"\0" + b"\xff\0\0" * 2 + b"\0" + b"\0\xff\0" * 2)
    chunks = [(b"IHDR", struct.pack(">IIBBBBB", wide, 2, 8, 2, 0, 0, 0)), *notes, (b"IDAT", rows), (b"IEND", b"")]
    parts = (struct.pack(">I", len(b)) + k + b + struct.pack(">I", zlib.crc32(k + b)) for k, b in chunks)
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


def test_of_a_png_only_what_draws_it_is_left() -> None:
    noted = png((b"tEXt", b"Author\0Odalys Venn"), (b"eXIf", b"place and time"), (b"tIME", b"1234567"))
    assert safe_png(noted + b"after the end", "logo") == png()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"GIF89a", "is no PNG picture"),
        (png()[:-7], "cut off or damaged"),
        (png()[:40] + b"x" + png()[41:], "cut off or damaged"),
        (b"\x89PNG\r\n\x1a\n", "cut off or damaged"),
        (png(wide=100_000), "is 100000 x 2 dots"),
    ],
)
def test_a_png_that_is_none_or_damaged_is_refused(content: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        safe_png(content, "logo")


def test_the_letterhead_carries_the_clean_logo(copied_data: Path) -> None:
    (copied_data / "logo.svg").write_text(f"<svg {HEAD}><script>alert(1)</script>{SHAPE}</svg>", encoding="utf-8")
    knowledge = load_knowledge(copied_data)
    found = letterhead(knowledge.shop, knowledge.folder)
    assert found.logo is not None
    assert b"script" not in found.logo.content
    assert b"M0 0h9v9z" in found.logo.content


@pytest.mark.parametrize("name", ["../secret.svg", "sub/../../secret.svg"])
def test_a_logo_outside_the_data_folder_is_refused(copied_data: Path, name: str) -> None:
    (copied_data.parent / "secret.svg").write_text(f"<svg {HEAD}>{SHAPE}</svg>", encoding="utf-8")
    shop = load_knowledge(copied_data).shop
    with pytest.raises(InputError, match="outside the data folder"):
        letterhead(replace(shop, values={**shop.values, "logo": name}), copied_data)
