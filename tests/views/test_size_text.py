"""Sizes of castings as rows and sentences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from moldkit.study.case import Case
from moldkit.study.compare import Comparison
from moldkit.study.scale import generations, size_for
from moldkit.views.size_text import HEADINGS, change_text, shrinkage_words, size_rows, size_text, wanted_words

BLOCK = "poured block"
BOX = Case(form="box", size=(0.20, 0.10, 0.30), run=10)
Compared = Callable[[Case], Comparison]


@pytest.mark.parametrize(
    ("meters", "metric", "us"),
    [(0.3, "300.0 mm", "11.810 in"), (0.29835, "298.4 mm", "11.745 in"), (0.0254, "25.4 mm", "1.000 in")],
)
def test_a_length_is_shown_to_what_a_caliper_tells(meters: float, metric: str, us: str) -> None:
    assert size_text(meters) == metric
    assert size_text(meters, "us") == us


@pytest.mark.parametrize(("share", "text"), [(0.0055, "0.55 %"), (-0.0015, "−0.15 %"), (-0.00001, "0.00 %")])
def test_a_change_of_size_is_shown_to_a_hundredth_of_a_per_cent(share: float, text: str) -> None:
    assert change_text(share) == text


def test_every_side_of_every_generation_has_its_row(compared: Compared) -> None:
    headings, *rows = size_rows(generations(compared(BOX), BLOCK, 2))
    assert headings == list(HEADINGS)
    assert [row[1] for row in rows] == ["width", "depth", "height"] * 2
    # 0.05 and 0.5 % linear: 300 mm x 0.9995 x 0.995 = 298.4 mm, and 296.7 mm a generation on.
    assert [row[2:4] for row in (rows[2], rows[5])] == [["300.0 mm", "298.4 mm"], ["300.0 mm", "296.7 mm"]]
    assert all(" to " in cell for row in rows for cell in row[4:])


def test_what_shrinks_and_what_grows_is_said_so(compared: Compared) -> None:
    (resin,) = generations(compared(BOX), BLOCK, 1)
    (plaster,) = generations(compared(replace(BOX, material="gypsum plaster")), BLOCK, 1)
    assert "0.55 % smaller than the pattern" in shrinkage_words(resin)
    assert "0.15 % larger than the pattern, and between 0.13 % and 0.18 %" in shrinkage_words(plaster)


def test_the_pattern_for_a_size_wanted_is_told_in_both_systems(compared: Compared) -> None:
    wanted = size_for(compared(BOX), BLOCK, 0.30)
    # 300 / (0.9995 x 0.995) = 301.66 mm = 11.876 in.
    assert "the pattern should measure 301.7 mm (" in wanted_words(wanted)
    assert "the casting comes out at 298.4 mm (" in wanted_words(wanted)
    assert "the pattern should measure 11.875 in (" in wanted_words(wanted, "us")
