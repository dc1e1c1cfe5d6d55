"""A client's chart drawn as SVG, without a browser: words large enough to be read across a room."""

from __future__ import annotations

import html
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from moldkit.views.label_places import Box, Wanted, along, around, placed
from moldkit.views.letter_widths import lines_of, width
from moldkit.views.offer_chart import Mark, OfferChart
from moldkit.views.offer_look import Look
from moldkit.views.paper.safe_text import safe_text

FONT = "'Source Sans 3','Segoe UI','Helvetica Neue',Arial,'DejaVu Sans',sans-serif"
WIDE, HIGH = 1600, 900
# Sizes of type for a drawing 1,600 wide. Seen from 3 m on a picture 1.2 m wide, a capital of the smallest that must be
# read there stands 17 minutes of arc high; 16 are the least for comfort (ISO 9241-303, from memory).
TITLE, STRONG, LABEL, TICK, SMALL = 42.0, 36.0, 29.0, 28.0, 22.0
EDGE, BARE_EDGE = 56.0, 6.0
LOGO, SHOP = 92.0, 380.0
LINE = 1.22
CURVE, DOT, CHOSEN = 6.0, 10.0, 17.0


@dataclass(frozen=True)
class _Frame:
    """The drawing's measures: where the words at its head end, where the curve's field lies."""

    chart: OfferChart
    wide: float
    high: float
    headed: bool

    @cached_property
    def edge(self) -> float:
        return EDGE if self.headed else BARE_EDGE

    @cached_property
    def head_wide(self) -> float:
        """Room that the shop's name and logo take at the right."""
        if not self.headed:
            return 0.0
        names = max((width(line, TICK, bold=True) for line in self.shop), default=0.0)
        return names + (LOGO + 24 if self.chart.head.logo else 0.0)

    @cached_property
    def shop(self) -> list[str]:
        return lines_of(safe_text(self.chart.head.name), TICK, SHOP, most=2, bold=True)

    @cached_property
    def title(self) -> list[str]:
        room = self.wide - 2 * self.edge - self.head_wide - 40
        return lines_of(safe_text(self.chart.title), TITLE, room, most=3, bold=True)

    @cached_property
    def small(self) -> list[str]:
        room = self.wide - 2 * self.edge
        return [line for words in self.chart.small for line in lines_of(safe_text(words), SMALL, room, most=2)]

    @cached_property
    def under(self) -> float:
        """The foot of the line that says what is offered, or of the title where nothing stands below it."""
        if not self.headed:
            return self.edge + LINE * TITLE * len(self.title)
        return self.edge + LINE * TITLE * max(2, len(self.title)) + LINE * TICK

    @cached_property
    def field(self) -> Box:
        """Where the curve lies."""
        ticks = max((width(words, TICK) for _, words in self.chart.up.ticks), default=0.0)
        foot = self.high - 0.6 * self.edge - LINE * SMALL * len(self.small) - 2.9 * TICK
        return Box(self.edge + ticks + 18, self.under + 2.9 * TICK, self.wide - self.edge, foot)

    def x(self, value: float) -> float:
        return self.field.left + self.chart.across.share(value) * (self.field.right - self.field.left)

    def y(self, value: float) -> float:
        return self.field.bottom - self.chart.up.share(value) * (self.field.bottom - self.field.top)


def drawing(chart: OfferChart, look: Look, *, wide: int = WIDE, high: int = HIGH, headed: bool = True) -> str:
    """Return the chart as SVG text; the same chart gives the same text.

    wide, high: its size in dots, for a screen; headed: with the shop's name and what is offered, which a page that it
    stands on says already.
    """
    frame = _Frame(chart, wide, high, headed)
    parts = [
        *_title(frame, look),
        *(_head(frame, look) if headed else ()),
        *_axes(frame, look),
        *_curve(frame, look),
        *_marks(frame, look),
        *_small(frame, look),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" '
        f'role="img" font-family="{FONT}" xml:space="preserve"><title>{_safe(chart.title)}</title>'
        f"<desc>{_safe(chart.words)}</desc>"
        f'<rect width="{wide}" height="{high}" fill="{look.ground}"/>{"".join(parts)}</svg>\n'
    )


def _safe(words: str) -> str:
    return html.escape(safe_text(words), quote=True)


def _words(
    x: float,
    y: float,
    words: str,
    size: float,
    colour: str,
    *,
    anchor: str = "start",
    bold: bool = False,
    more: str = "",
) -> str:
    weight = ' font-weight="700"' if bold else ""
    placed_at = "" if anchor == "start" else f' text-anchor="{anchor}"'
    place = f'x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{colour}"'
    return f"<text {place}{weight}{placed_at}{more}>{_safe(words)}</text>"


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, thick: float, more: str = "") -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" stroke-width="{thick:g}"'
        f"{more}/>"
    )


def _title(frame: _Frame, look: Look) -> Iterator[str]:
    for place, line in enumerate(frame.title):
        yield _words(frame.edge, frame.edge + (0.8 + LINE * place) * TITLE, line, TITLE, look.ink, bold=True)


def _head(frame: _Frame, look: Look) -> Iterator[str]:
    """Yield the bar, what is offered, the shop with its logo."""
    chart, right = frame.chart, frame.wide - EDGE
    yield f'<rect width="{frame.wide:g}" height="12" fill="{look.main}"/>'
    room = frame.wide - 2 * EDGE
    job, piece = chart.under
    (told,) = lines_of(safe_text(piece), TICK, 0.66 * room, most=1) or [""]
    # Two texts, so that a name that is written from right to left turns nothing but itself.
    (name,) = lines_of(safe_text(job), TICK, room - width(told, TICK) - 40, most=1, bold=True) or [""]
    yield _words(EDGE, frame.under, name, TICK, look.ink, bold=True)
    yield _words(right, frame.under, told, TICK, look.quiet, anchor="end")
    if chart.head.logo:
        right -= LOGO
        if look.name == "dark":
            # A logo is made for white paper.
            side = f'width="{LOGO + 16:g}" height="{LOGO + 16:g}"'
            yield f'<rect x="{right - 8:.1f}" y="{EDGE - 24:.1f}" {side} rx="10" fill="#ffffff"/>'
        yield (
            f'<image x="{right:.1f}" y="{EDGE - 16:.1f}" width="{LOGO:g}" height="{LOGO:g}" '
            f'preserveAspectRatio="xMaxYMid meet" href="{chart.head.logo.address}"/>'
        )
        right -= 24
    for place, line in enumerate(frame.shop):
        foot = EDGE + 0.9 * TICK + LINE * TICK * place
        yield _words(right, foot, line, TICK, look.main_text, anchor="end", bold=True)


def _axes(frame: _Frame, look: Look) -> Iterator[str]:
    chart, field = frame.chart, frame.field
    for value, words in chart.up.ticks:
        y = frame.y(value)
        yield _line(field.left, y, field.right, y, look.hair, 1.5)
        yield _words(field.left - 14, y + 0.35 * TICK, words, TICK, look.ink, anchor="end")
    yield _line(field.left, field.bottom, field.right, field.bottom, look.edge, 2.5)
    free = -1.0
    for value, words in chart.across.ticks:
        x, half = frame.x(value), width(words, TICK) / 2
        yield _line(x, field.bottom, x, field.bottom + 10, look.edge, 2.5)
        middle = min(x, frame.wide - 8 - half)
        if middle - half > free:
            yield _words(middle, field.bottom + 14 + TICK, words, TICK, look.ink, anchor="middle")
            free = middle + half + 12
    yield _words(frame.edge, field.top - 1.1 * TICK, chart.up.title, TICK, look.quiet)
    yield _words(field.right, field.bottom + 18 + 2.1 * TICK, chart.across.title, TICK, look.quiet, anchor="end")


def _points(frame: _Frame) -> list[tuple[float, float]]:
    """Return the corners of the curve as drawn."""
    found: list[tuple[float, float]] = []
    for x, y in ((frame.x(x), frame.y(y)) for x, y in frame.chart.curve):
        if frame.chart.steps and found:
            found.append((x, found[-1][1]))
        found.append((x, y))
    return found


def _curve(frame: _Frame, look: Look) -> Iterator[str]:
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in _points(frame))
    yield (
        f'<polyline points="{corners}" fill="none" stroke="{look.main}" stroke-width="{CURVE:g}" '
        'stroke-linejoin="round" stroke-linecap="round"/>'
    )


def _covered(frame: _Frame) -> list[Box]:
    """Return what the curve covers, as boxes that no label may touch."""
    return along(_points(frame), CURVE / 2, 12.0)


def _marks(frame: _Frame, look: Look) -> Iterator[str]:
    """Yield the dots with their labels, the most telling placed first."""
    marks, field = frame.chart.marks, frame.field
    taken = [*_covered(frame), *(around(frame.x(m.x), frame.y(m.y), CHOSEN if m.strong else DOT) for m in marks)]
    strong = next((mark for mark in marks if mark.strong), None)
    if strong:
        x, y = frame.x(strong.x), frame.y(strong.y)
        yield _line(x, y, x, field.bottom, look.second, 3, ' stroke-dasharray="10 8"')
        taken.append(Box(x - 2, y, x + 2, field.bottom))
    for mark in sorted(marks, key=lambda mark: mark.strong):
        yield _dot(frame, look, mark)
    for mark in marks:
        yield from _label(frame, look, mark, taken)


def _dot(frame: _Frame, look: Look, mark: Mark) -> str:
    x, y = frame.x(mark.x), frame.y(mark.y)
    fill, radius = (look.ink, CHOSEN) if mark.strong else (look.main, DOT)
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}" fill="{fill}" stroke="{look.ground}" stroke-width="4"/>'


def _label(frame: _Frame, look: Look, mark: Mark, taken: list[Box]) -> Iterator[str]:
    size = STRONG if mark.strong else LABEL
    wide = width(mark.label, size, bold=True)
    wanted = Wanted(frame.x(mark.x), frame.y(mark.y), wide, 0.95 * size, 22.0 if mark.strong else 15.0, mark.strong)
    room = Box(frame.field.left + 6, frame.field.top - 0.9 * TICK, frame.wide - 12, frame.field.bottom - 6)
    box = placed(wanted, room, taken, 4.0)
    if box is not None:
        colour = look.ink if mark.strong else look.main_text
        # The ground round the letters keeps lines behind them away.
        halo = f' stroke="{look.ground}" stroke-width="7" stroke-linejoin="round" paint-order="stroke"'
        yield _words(box.left, box.bottom - 0.16 * size, mark.label, size, colour, bold=True, more=halo)


def _small(frame: _Frame, look: Look) -> Iterator[str]:
    foot = frame.high - 0.6 * frame.edge - LINE * SMALL * (len(frame.small) - 1)
    for place, line in enumerate(frame.small):
        yield _words(frame.edge, foot + LINE * SMALL * place, line, SMALL, look.quiet)
