"""Make the demo log of Tidewater Lane Castings, an invented small casting shop: seventy molds over three years.

Run it with Python alone: `python data/make_mold_log.py [--to FILE]`; the same version always writes the same file. The
molds are invented. Each life is drawn from a made-up Weibull distribution, `LINES` below, times what its use does to it
(`FACTORS`), and made whole upwards; then the job's end, an accident or the day the log was closed may come first.
"""

from __future__ import annotations

import argparse
import csv
import datetime
import io
import math
import os
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).resolve().parent
# One of those whose log has every state, a pair of which no mold failed yet and a pair of a single mold.
SEED = 8
FIRST_DAY, LAST_DAY = datetime.date(2023, 11, 27), datetime.date(2026, 11, 20)
COLUMNS = ["mold", "rubber", "casting", "method", "undercut", "wall", "release", "castings", "state", "date", "note"]
# Chance at each pour that a mold is lost by accident.
ACCIDENT = 0.0025
# Molds kept on the shelf for repeat orders, and how much slower they are poured.
KEPT, SLOWER = 0.35, 7.0
# What the use of a mold does to its life in this shop: the likely factors of life_factors.csv.
FACTORS = {
    "open pour": 1.0, "pressure": 0.9, "vacuum": 0.95, "hand rotation": 1.0, "foam fill": 1.0,
    "none": 1.0, "moderate": 0.85, "severe": 0.65,
    "full": 1.0, "thin": 1.1,
    "yes": 1.0, "no": 0.5,
}  # fmt: skip

NOTES = {
    "in use": ("spare stands on shelf B", "small nick at the vent, watch it", "kept for repeat orders", "", "", "", ""),
    "retired early": (
        "job done, mold on shelf B", "job done, client has the mold", "client changed the model",
        "put away good, box marked", "replaced before the long run", "job done, shell broken up for its bolts",
    ),
    "spoiled": (
        "dropped from the bench, shell cracked through", "knife slipped at demolding",
        "poured without release by mistake, casting would not come out", "part B short, never set right through",
        "left in the sun under a clamp, out of shape", "stored on its side, took a set",
    ),
}  # fmt: skip
RESIN_WORN = (
    "torn at the thin of the neck", "surface gone dull, castings stick at the foot", "skin comes off with the casting",
    "edges of the cut ragged, flash too thick to trim", "tear ran on from the seam, patched once, tore again",
    "stiff and swollen on the pour side", "keys worn, halves shift by a millimeter", "detail lost, rubber gone hard",
)  # fmt: skip
PLASTER_WORN = (
    "perished along the flange", "torn at the rim from pulling", "gone sticky in the warm store",
    "crack across the base", "out of shape, no longer sits in its case", "thin spot at the nose gave way",
)  # fmt: skip
CONCRETE_WORN = (
    "scratched by the aggregate, castings show it", "corner torn at demolding", "cuts along the arris, edges ragged",
    "face dull, cement film will not come off",
)  # fmt: skip
METAL_WORN = (
    "crazed at the gate from the heat", "face charred, castings rough", "fin along the crack too thick to file",
    "brittle round the sprue, pieces break out",
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """Molds of one pair: the made-up truth they are drawn from, and how the shop uses them.

    median, shape: of the Weibull life in plain use [pours]; a_week: pours a week; run: least and most pours of a job.
    """

    molds: int
    rubbers: Sequence[str]
    castings: Sequence[str]
    methods: Sequence[str]
    undercuts: Sequence[str]
    median: float
    shape: float
    a_week: tuple[float, float]
    run: tuple[int, int]
    worn: Sequence[str] = RESIN_WORN
    releases: Sequence[str] = ("yes",)


LINES = (
    Line(
        25,
        ("platinum silicone, slow", "platinum silicone, slow", "platinum silicone, brushable", "platinum silicone"),
        ("rigid urethane resin", "rigid urethane resin", "rigid urethane resin, fast", "rigid urethane"),
        ("open pour", "open pour", "pressure", "hand rotation"),
        ("none", "moderate", "moderate", "severe"),
        median=36, shape=3.3, a_week=(2, 6), run=(12, 70), releases=("yes", "yes", "yes", "yes", "yes", "no"),
    ),
    Line(
        12, ("natural latex, brush-on", "latex"), ("gypsum plaster", "gypsum plaster", "polymer-modified gypsum"),
        ("open pour",), ("none", "moderate"),
        median=90, shape=3.0, a_week=(4, 10), run=(40, 200), worn=PLASTER_WORN,
    ),
    Line(
        9, ("urethane rubber, firm", "urethane rubber, soft"), ("concrete",), ("open pour",), ("none", "moderate"),
        median=170, shape=4.0, a_week=(5, 10), run=(80, 350), worn=CONCRETE_WORN,
    ),
    Line(
        6, ("tin-cured silicone, brushable", "tin-cured silicone, pourable"), ("casting wax",),
        ("hand rotation", "open pour"), ("moderate", "severe"),
        median=300, shape=2.5, a_week=(2, 5), run=(12, 45),
    ),
    Line(
        6, ("platinum silicone, brushable", "platinum silicone"), ("rigid urethane foam",), ("foam fill",),
        ("none", "moderate"),
        median=42, shape=3.0, a_week=(2, 5), run=(24, 80),
    ),
    Line(
        6, ("tin-cured silicone, pourable",), ("polyester resin",), ("open pour",), ("none", "moderate"),
        median=16, shape=2.6, a_week=(2, 5), run=(10, 40),
    ),
    Line(
        5, ("platinum silicone, high-temperature",), ("tin alloy",), ("open pour",), ("none",),
        median=70, shape=2.8, a_week=(4, 10), run=(40, 120), worn=METAL_WORN,
    ),
    Line(
        1, ("platinum silicone, slow",), ("clear epoxy resin",), ("vacuum",), ("none",),
        median=30, shape=3.0, a_week=(1, 2), run=(60, 60),
    ),
)  # fmt: skip


def log_rows() -> list[list[str]]:
    """Return the log's rows, the column names first; molds are numbered in the order they were made."""
    draw = random.Random(SEED)
    notes = {state: _in_turn(draw, words) for state, words in NOTES.items()}
    molds = []
    for line in LINES:
        notes["worn out"] = _in_turn(draw, line.worn)
        molds += [_mold(draw, line, notes) for _ in range(line.molds)]
    molds.sort(key=lambda mold: mold[0])
    rows, numbers = [COLUMNS], dict[int, int]()
    for made, cells in molds:
        numbers[made.year] = numbers.get(made.year, 0) + 1
        rows.append([f"{made.year % 100}-{numbers[made.year]:03d}", *cells])
    return rows


def _in_turn(draw: random.Random, words: Sequence[str]) -> list[str]:
    """Return words to take from the end, each as often as the others and in no order."""
    return [word for _ in range(12) for word in draw.sample(words, len(words))]


def _mold(draw: random.Random, line: Line, notes: dict[str, list[str]]) -> tuple[datetime.date, list[str]]:
    method, undercut = draw.choice(line.methods), draw.choice(line.undercuts)
    use = [method, undercut, "thin" if method == "hand rotation" else "full", draw.choice(line.releases)]
    made = FIRST_DAY + datetime.timedelta(days=draw.randrange((LAST_DAY - FIRST_DAY).days - 14))
    a_week = draw.uniform(*line.a_week) / (SLOWER if draw.random() < KEPT else 1.0)
    ends = {
        "worn out": _life(draw, line, math.prod(FACTORS[word] for word in use)),
        "retired early": draw.randint(*line.run),
        "spoiled": math.floor(math.log(1.0 - draw.random()) / math.log(1.0 - ACCIDENT)),
        "in use": math.floor(a_week * (LAST_DAY - made).days / 7.0),
    }
    state = min(ends, key=lambda end: (ends[end], end != "worn out"))
    castings = ends[state]
    changed = min(LAST_DAY, made + datetime.timedelta(days=math.ceil(7.0 * castings / a_week)))
    words = [draw.choice(line.rubbers), draw.choice(line.castings), *use]
    return made, [*words, str(castings), state, changed.isoformat(), notes[state].pop()]


def _life(draw: random.Random, line: Line, factor: float) -> int:
    """Return one life [pours]: the Weibull distribution turned round, made whole upwards."""
    scale = factor * line.median / math.log(2.0) ** (1.0 / line.shape)
    return max(1, math.ceil(scale * (-math.log(1.0 - draw.random())) ** (1.0 / line.shape)))


def main() -> None:
    """Write the log whole, or not at all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--to", type=Path, default=HERE / "mold_log.csv", metavar="FILE")
    target: Path = parser.parse_args().to
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(log_rows())
    half = target.with_name(target.name + ".half")
    half.write_bytes(text.getvalue().encode("utf-8"))
    os.replace(half, target)


if __name__ == "__main__":
    main()
