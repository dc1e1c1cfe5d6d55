"""Drawings whose parts are named by lot become the same file, and still show the same."""

from __future__ import annotations

import random
import re

from hypothesis import given
from hypothesis import strategies as st

from moldkit.views.svg_ids import numbered_ids


def drawing(lot: random.Random, parts: int) -> bytes:
    """A drawing with clips called in every way that SVG has, and traces with a class, all named by lot."""
    names = [f"clip{lot.getrandbits(24):06x}" for _ in range(parts)]
    ways = ("url(#{})", "url('#{}')", "url(&quot;#{}&quot;)")
    defined = "".join(f'<clipPath id="{name}"><rect width="{at}"/></clipPath>' for at, name in enumerate(names))
    called = "".join(
        f'<g class="trace scatter trace{lot.getrandbits(24):06x}" clip-path="{ways[at % 3].format(name)}"/>'
        f'<use xlink:href="#{name}"/>'
        for at, name in enumerate(names)
    )
    return f"<svg><style>.trace{{fill:#abcdef}}</style><defs>{defined}</defs>{called}<text>clip1</text></svg>".encode()


@given(st.integers(0, 2**32), st.integers(0, 2**32), st.integers(0, 12))
def test_two_drawings_of_one_chart_are_the_same_bytes(one: int, other: int, parts: int) -> None:
    assert numbered_ids(drawing(random.Random(one), parts)) == numbered_ids(drawing(random.Random(other), parts))


@given(st.integers(0, 2**32), st.integers(1, 12))
def test_every_call_still_finds_its_part_and_no_two_parts_share_a_name(lot: int, parts: int) -> None:
    text = numbered_ids(drawing(random.Random(lot), parts)).decode()
    named = re.findall(r'id="([^"]+)"', text)
    assert len(set(named)) == parts
    calls = re.findall(r"""(?:url\((?:'|&quot;)?#|href="#)([^"'&)]+)""", text)
    assert sorted(calls) == sorted(named * 2)
    assert "#abcdef" in text and "<text>clip1</text>" in text and "trace scatter trace1" in text


def test_a_drawing_without_names_is_left_alone() -> None:
    assert numbered_ids(b"<svg><path d='M0 0'/></svg>") == b"<svg><path d='M0 0'/></svg>"
