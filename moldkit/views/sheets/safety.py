"""The safety page: the usual cautions that this job's materials and work call for, and no others."""

from __future__ import annotations

from moldkit.study.bench.cautions import Caution, cautions_for
from moldkit.views.paper.document import Block, CautionBox, Document, Page, Sentence
from moldkit.views.sheets.bench import Bench
from moldkit.views.sheets.words import listed

DEFERS = (
    "These are the usual cautions for what this job uses. They do not replace the safety data sheets of what you buy, "
    "your local codes, or licensed practice: those go first. Read the data sheets before you open a container, and "
    "keep them where the work is done."
)
ALWAYS = (
    "Eye wash, soap and water, first-aid box and fire extinguisher: know where they are. Nobody works alone with what "
    "stands here, and nobody eats or smokes beside it. Emergency number and nearest doctor: ______________________"
)


def safety_page(bench: Bench) -> Document:
    """Return the safety page; raises InputError where a hazard has no row in cautions.csv."""
    blocks: list[Block] = [Sentence(DEFERS, strong=True)]
    blocks += [_box(caution) for caution in cautions_for(bench.result, bench.outcome)]
    blocks.append(Sentence(ALWAYS))
    return bench.document("Safety page", Page("safety", "Before you begin: safety", tuple(blocks)))


def _box(caution: Caution) -> CautionBox:
    row = caution.row
    wear, limit = row.text("wear"), row.text("limit")
    words = row.text("words") + (f" Wear: {wear[:1].lower()}{wear[1:]}" if wear else "")
    lines = [f"From: {listed(caution.because)}.", words]
    if limit:
        lines.append(f"For orientation: {limit}")
    return CautionBox(row.text("title"), tuple(lines))
