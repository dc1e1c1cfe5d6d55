"""The table of figures, its kernel's side: what it takes and refuses, what the page's messages do, its plain forms."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path
from typing import Any

import lxml.html
import pytest

pytest.importorskip("anywidget", reason="The widgets need anywidget, which is not installed.")

from moldkit.errors import InputError
from moldkit.quantity import Quantity, working
from moldkit.views.style import STROKES
from moldkit.views.widgets import figure_table
from moldkit.views.widgets.figure_table import FigureTable

FOLDER = Path(figure_table.__file__).parent
SCRIPT = (FOLDER / "figure_table.js").read_text("utf-8")
STYLE = (FOLDER / "figure_table.css").read_text("utf-8")
HEADINGS = ["Technique", "Rubber", "Verdict"]
BLOCK = {
    "key": "block", "heading": "poured block", "standing": "best",
    "cells": [{"text": "19.0 kg", "key": "block/rubber"}, {"text": "cheapest"}],
}
BRUSHED = {
    "key": "brushed", "heading": "brushed skin", "standing": "out",
    "cells": [{"text": "3.30 kg", "key": "brushed/rubber", "note": "in 4 coats"}, {"text": "out: pressure"}],
}


def table(**traits: Any) -> FigureTable:
    return FigureTable(**{"headings": HEADINGS, "rows": [BLOCK, BRUSHED], **traits})


def receive(shown: FigureTable, **content: str) -> None:
    """Have the table take a message as if the page had sent it."""
    shown._handle_custom_msg(content, [])


# ---- what it takes and what it refuses ---------------------------------------------------------------


def test_what_a_row_leaves_out_is_filled_in() -> None:
    [row] = table(rows=[{"key": "a", "heading": "A", "cells": [{"text": "1"}, {}]}]).rows
    assert row == {
        "key": "a", "heading": "A", "swatch": None, "standing": "", "chosen": False,
        "cells": [{"text": "1", "key": None, "note": ""}, {"text": "", "key": None, "note": ""}],
    }


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({**BLOCK, "key": ""}, "row 1 has no key"),
        ({**BLOCK, "standing": "worst"}, "row 1 stands 'worst'"),
        ({**BLOCK, "cells": BLOCK["cells"][:1]}, "row 1 has 1 cells after its heading, but there are 3 headings"),
        ({**BLOCK, "cells": [{"text": 19.0}, {}]}, "text of cell 1 of row 1 cannot be 19.0"),
        ({**BLOCK, "cells": [{"text": "19", "hint": "?"}, {}]}, "cell 1 of row 1 must be a dict of text, key, note"),
        ({**BLOCK, "swatch": "blue"}, "swatch of row 1 cannot be 'blue'"),
        ({**BLOCK, "color": "blue"}, "row 1 must be a dict of key, heading, swatch, standing, cells, chosen"),
        (["poured block"], "row 1 must be a dict"),
    ],
)
def test_a_row_that_will_not_do_is_refused_and_the_rows_before_stay(wrong: Any, sentence: str) -> None:
    shown = table()
    before = shown.rows
    with pytest.raises(InputError, match=sentence):
        shown.rows = [wrong]
    assert shown.rows == before


@pytest.mark.parametrize(
    ("rows", "sentence"),
    [
        ([BLOCK, {**BRUSHED, "key": "block"}], "two of the rows have the key 'block'"),
        ([BLOCK, {**BRUSHED, "cells": BLOCK["cells"]}], "two of the figures have the key 'block/rubber'"),
    ],
)
def test_a_key_names_one_row_or_one_figure(rows: list[Any], sentence: str) -> None:
    with pytest.raises(InputError, match=sentence):
        table(rows=rows)


def test_the_lines_of_a_quantitys_working_can_be_shown_as_they_are() -> None:
    volume = Quantity("rubber volume", 0.0176, "m3", "container - pattern", source="a measured pattern")
    density = Quantity("density", 1080.0, "kg/m3", source="data sheet")
    mass = Quantity("rubber", volume.value * density.value, "kg", "volume x density", (volume, density))
    shown = table()
    shown.working = {"title": "Rubber", "lines": [dataclasses.asdict(line) for line in working(mass)]}
    assert [line["name"] for line in shown.working["lines"]] == ["rubber", "rubber volume", "density"]
    assert [line["depth"] for line in shown.working["lines"]] == [0, 1, 1]


def test_a_working_of_another_shape_is_refused() -> None:
    with pytest.raises(InputError, match="line 1 of the working must be a dict of depth, name"):
        table(working={"title": "Rubber", "lines": [{"words": "19 kg"}]})


# ---- what the page's messages do ---------------------------------------------------------------------


def test_a_figure_asked_for_is_open_when_its_callback_runs() -> None:
    shown = table()
    seen = []
    shown.on_open(lambda key: seen.append((key, shown.opened)))
    receive(shown, kind="open", key="brushed/rubber")
    assert seen == [("brushed/rubber", "brushed/rubber")]
    assert shown.opened == "brushed/rubber"


def test_closing_clears_the_working_and_then_calls_back() -> None:
    shown = table(opened="block/rubber", working={"title": "Rubber", "lines": []})
    seen = []
    shown.on_close(lambda: seen.append((shown.opened, shown.working)))
    receive(shown, kind="close")
    assert seen == [("", {})]


def test_a_chosen_row_is_told_by_its_key() -> None:
    shown = table(row_action="cast by this method")
    seen: list[str] = []
    shown.on_choose(seen.append)
    receive(shown, kind="choose", row="brushed")
    assert seen == ["brushed"]


@pytest.mark.parametrize("message", [{"kind": "open", "key": "gone"}, {"kind": "choose", "row": "gone"}])
def test_what_is_no_longer_in_the_table_calls_nothing_back_and_says_so(message: dict[str, str]) -> None:
    shown = table()
    seen: list[str] = []
    shown.on_open(seen.append)
    shown.on_choose(seen.append)
    receive(shown, **message)
    assert (seen, shown.opened) == ([], "")
    assert shown.notice == "This is no longer in the table; choose again."


def test_a_sentence_from_a_callback_is_shown_and_nothing_stays_open() -> None:
    shown = table()

    def refuse(key: str) -> None:
        raise InputError(f"{key}: no working is kept.")

    shown.on_open(refuse)
    receive(shown, kind="open", key="block/rubber")
    assert (shown.notice, shown.opened) == ("block/rubber: no working is kept.", "")


def test_a_fault_in_a_callback_is_one_sentence_and_gone_with_the_next_choice() -> None:
    shown = table()
    workings = {"brushed/rubber": {"title": "Rubber", "lines": []}}

    def show(key: str) -> None:
        shown.working = workings[key]

    shown.on_open(show)
    receive(shown, kind="open", key="block/rubber")
    assert shown.notice == "This choice could not be used (KeyError: 'block/rubber')."
    receive(shown, kind="open", key="brushed/rubber")
    assert (shown.notice, shown.working["title"]) == ("", "Rubber")


# ---- its plain forms ---------------------------------------------------------------------------------


def test_without_a_kernel_there_is_a_table_with_the_same_texts() -> None:
    bundle, _ = table(caption="Techniques")._repr_mimebundle_()
    [found] = lxml.html.fromstring(f"<div>{bundle['text/html']}</div>").xpath("./table")
    assert found.xpath("string(caption)") == "Techniques"
    assert found.xpath("thead//th[@scope='col']/text()") == HEADINGS
    rows = [row.xpath("*/text()") for row in found.xpath("tbody/tr")]
    assert rows == [
        ["✓ poured block", "19.0 kg", "cheapest"],
        ["✕ brushed skin", "3.30 kg (in 4 coats)", "out: pressure"],
    ]
    assert bundle["text/plain"].splitlines()[:2] == ["Techniques", "Technique | Rubber | Verdict"]


def test_columns_of_words_are_set_from_the_left_and_figures_from_the_right() -> None:
    for left, side in (([], "right"), ([1], "left")):
        found = lxml.html.fromstring(table(left=left)._repr_mimebundle_()[0]["text/html"])
        sides = found.xpath("tbody/tr[1]/*/@style")
        assert sides == ["text-align: left", f"text-align: {side}", "text-align: left"]


def test_text_that_looks_like_markup_stays_text_without_a_kernel() -> None:
    nasty = "<img src=x onerror=alert(1)>"
    row = {"key": nasty, "heading": nasty, "cells": [{"text": nasty, "key": nasty, "note": nasty}, {"text": nasty}]}
    shown = FigureTable(caption=nasty, headings=[nasty] * 3, rows=[row])
    found = lxml.html.fromstring(shown._repr_mimebundle_()[0]["text/html"])
    assert found.xpath("//img") == []
    assert found.xpath("string(caption)") == nasty
    assert found.xpath("string(tbody/tr/td[1])") == f"{nasty} ({nasty})"


# ---- its page's side, as far as it can be read off the files -----------------------------------------


def test_the_script_never_makes_nodes_from_text() -> None:
    assert not re.findall(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|DOMParser|setHTML", SCRIPT)


def test_the_script_has_the_dash_of_every_stroke_and_the_marks_of_the_plain_forms() -> None:
    [dashes] = re.findall(r"const DASHES = \{(.*?)\};", SCRIPT, re.DOTALL)
    assert {stroke.dash for stroke in STROKES} <= set(re.findall(r"(\w+):", dashes))
    marks = dict(re.findall(r'(\w+): \{ mark: "(.)"', SCRIPT))
    assert {"": "", **marks} == figure_table.MARKS


def _variables(selector: str) -> dict[str, str]:
    [block] = re.findall(rf"^{re.escape(selector)} \{{(.*?)\}}", STYLE, re.DOTALL | re.MULTILINE)
    return dict(re.findall(r"--moldkit-(\w+): (?:var\([^,]*, )?(#[0-9a-f]{6})", block))


def _luminance(colour: str) -> float:
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definitions "contrast ratio" and "relative luminance"."""
    darker, lighter = sorted([_luminance(one), _luminance(other)])
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_as_in_the_published_examples() -> None:
    """Black on white is 21:1 (WCAG 2.2); #767676 is the lightest grey that passes 4.5:1 on white (common practice)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") > 4.5 > contrast("#777777", "#ffffff")


# The dark ground is the one of JupyterLab's dark theme, --jp-layout-color1.
@pytest.mark.parametrize(
    ("selector", "ground"), [(".moldkit-table", "#ffffff"), ('[data-jp-theme-light="false"] .moldkit-table', "#212121")]
)
def test_every_text_keeps_the_contrast_of_level_aa(selector: str, ground: str) -> None:
    """WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (what shows a state, 3:1)."""
    colours = _variables(selector)
    for text in ("quiet", "out", "red"):
        assert contrast(colours[text], ground) >= 4.5, text
    for text in ("quiet", "out"):  # in a chosen row
        assert contrast(colours[text], colours["tint"]) >= 4.5, text
    assert contrast(ground, colours["accent"]) >= 4.5  # the open figure is ground on accent
    assert contrast(colours["line"], ground) >= 3
