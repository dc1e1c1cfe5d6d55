"""A pattern that was read, in words."""

from __future__ import annotations

import html
from collections.abc import Sequence

from moldkit.study.seen import Seen
from moldkit.tables import Row
from moldkit.units import System
from moldkit.views.survey_report import Rubber, Said, survey_report
from moldkit.views.survey_words import length_words


def seen_report(seen: Seen, rubber: Row | None, system: System = "metric") -> tuple[Said, ...]:
    """Return the report on a pattern at its case's size, with the container that holds it.

    rubber: row of the grade that the peeling is judged by.
    """
    judged = None if rubber is None else Rubber(rubber.name, float(rubber.quantity("elongation").value))
    said = survey_report(seen.survey, scale=seen.scale, system=system, rubber=judged, bottom=seen.bottom)
    return (*said, Said("Container", container_words(seen, system)))


def container_words(seen: Seen, system: System = "metric") -> str:
    """Return which box and which tube just hold the pattern."""
    pattern = seen.pattern
    sides = " x ".join(length_words(float(side), system) for side in pattern.box_round(0.0))
    bores, heights = pattern.tubes_round(0.0)
    tube = f"{length_words(float(bores[0]), system)} bore, {length_words(float(heights[0]), system)} high"
    return f"It just goes into a box of {sides}, or a tube of {tube}; rubber comes on top."


def report_html(said: Sequence[Said]) -> str:
    """Return the report as a table for the page."""
    rows = (
        f'<tr><th scope="row">{html.escape(each.about)}</th><td>{html.escape(each.words)}</td></tr>' for each in said
    )
    return f'<table class="moldkit-report"><caption>What the survey found</caption>{"".join(rows)}</table>'


def report_text(said: Sequence[Said]) -> str:
    """Return the report as lines of text."""
    return "\n".join(f"{each.about}: {each.words}" for each in said)
