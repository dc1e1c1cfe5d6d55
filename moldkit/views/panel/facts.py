"""The small table of what is known of a pattern."""

from __future__ import annotations

import html
from collections.abc import Sequence


def facts_html(rows: Sequence[Sequence[str]]) -> str:
    """Return rows of (what, figure, where from) as a table for the page."""
    lines = (
        f'<tr><th scope="row">{html.escape(name)}</th><td>{html.escape(value)}</td><td>{html.escape(origin)}</td></tr>'
        for name, value, origin in rows
    )
    return f'<table class="moldkit-facts"><caption>The pattern as taken</caption>{"".join(lines)}</table>'
