"""The head of a shop's paper: its logo, its name in its colour, and what the paper is."""

from __future__ import annotations

import html

from moldkit.study.letterhead import Letterhead
from moldkit.views.letter_widths import lines_of, width
from moldkit.views.offer_look import Look
from moldkit.views.paper.safe_text import safe_text

WIDE, HIGH = 1790.0, 190.0
NAME, KIND, LOGO = 66.0, 44.0, 150.0
FONT = "'DejaVu Sans',sans-serif"


def head_drawing(head: Letterhead, kind: str, look: Look) -> str:
    """Return the head as SVG text; kind: what the paper is, at the right."""
    left = LOGO + 36 if head.logo else 0.0
    room = WIDE - left - width(kind, KIND, bold=True) - 60
    lines = lines_of(safe_text(head.name), NAME, room, most=2, bold=True)
    size = NAME if len(lines) < 2 else 0.8 * NAME
    foot = 0.5 * LOGO + 0.36 * size - 0.6 * size * (len(lines) - 1)
    names = "".join(
        f'<text x="{left:g}" y="{foot + 1.2 * size * place:.1f}" font-size="{size:g}" font-weight="700" '
        f'fill="{look.main_text}">{_safe(line)}</text>'
        for place, line in enumerate(lines)
    )
    logo = (
        f'<image width="{LOGO:g}" height="{LOGO:g}" preserveAspectRatio="xMinYMid meet" href="{head.logo.address}"/>'
        if head.logo
        else ""
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:g} {HIGH:g}" font-family="{FONT}">{logo}{names}'
        f'<text x="{WIDE:g}" y="{0.5 * LOGO + 0.36 * KIND:.1f}" font-size="{KIND:g}" text-anchor="end" '
        f'font-weight="700" fill="{look.ink}">{_safe(kind)}</text>'
        f'<rect y="{HIGH - 14:g}" width="{WIDE:g}" height="10" fill="{look.main}"/></svg>'
    )


def _safe(words: str) -> str:
    return html.escape(safe_text(words), quote=True)
