"""The panel of the client meeting: prices and dates as a direct call gives them, nothing of the shop's."""

from __future__ import annotations

import datetime
import html
import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import ipywidgets as widgets
import pytest

from moldkit.errors import InputError
from moldkit.study.compare import compare
from moldkit.study.job_file import load_job
from moldkit.study.quote import quote
from moldkit.views.meeting_words import CANNOT, shop_rows
from moldkit.views.offer_page.colours import DARK, LIGHT, contrast
from moldkit.views.panel.meeting import ClientMeeting
from moldkit.views.panel.shop_view import WARNING
from tests.views.client_leaks import found_in, secrets, words_in

DATA = Path(__file__).resolve().parents[2] / "data"
START, DAY = datetime.date(2026, 11, 30), datetime.date(2026, 11, 25)
NOW = datetime.datetime(2026, 11, 25, 14, 30, 5)
PATIENCE_S = 60
WAXED = {"finish": "sealed and waxed", "finish_time": 8, "finish_cost": 0.4}


@pytest.fixture
def data(tmp_path: Path) -> Path:
    copied = tmp_path / "data"
    shutil.copytree(DATA, copied, ignore=shutil.ignore_patterns("__pycache__", "sculpting"))
    return copied


@pytest.fixture
def panel(data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ClientMeeting:
    monkeypatch.chdir(tmp_path)
    return opened(data)


def opened(data: Path, job: str = "captain", **more: Any) -> ClientMeeting:
    return ready(ClientMeeting(job, data, start=START, date=DAY, now=lambda: NOW, **more))


def ready(panel: ClientMeeting) -> ClientMeeting:
    assert panel.aside.done(PATIENCE_S)
    return panel


def direct(panel: ClientMeeting) -> Any:
    return quote(compare(panel.case, panel.bench.knowledge), date=DAY, start=panel.start).asked.charge


def states(widget: widgets.Widget) -> Iterator[dict[str, Any]]:
    """Yield the state of a widget and of all below it: everything that the page holds."""
    yield widget.get_state()
    for child in getattr(widget, "children", ()):
        yield from states(child)


def in_the_page(panel: ClientMeeting) -> str:
    """Return all that the page holds as text, the library and the styles apart."""
    kept = [{k: v for k, v in state.items() if k not in ("_esm", "_css", "layout", "style")} for state in states(panel)]
    return json.dumps(kept, default=str, ensure_ascii=False)


# ---- prices -------------------------------------------------------------------------------------------


def test_the_band_says_the_price_and_the_date_of_a_direct_call(panel: ClientMeeting) -> None:
    charge = direct(panel)
    assert panel.band.each == f"{charge.each / 100:.2f} USD"
    assert panel.band.together.replace("\u202f", "") == f"{charge.total / 100:.2f} USD"
    assert panel.band.delivery == f"{charge.delivery.day} {charge.delivery:%b %Y}"
    assert panel.band.piece == "40 castings, rigid urethane resin, solid, 180 mm"
    assert panel.band.shop == "Tidewater Lane Castings" and panel.band.logo.startswith("data:image/svg+xml;base64,")


def test_each_control_changes_the_case_and_the_price(panel: ClientMeeting) -> None:
    controls = panel.controls
    for control, value, field, becomes in (
        (controls.run, 100, "run", 100),
        (controls.size, 0.13, "longest", 0.13),
        (controls.material, "polymer-modified gypsum", "material", "polymer-modified gypsum"),
        (controls.made, "hollow", "method", "hand rotation"),
        (controls.finish, WAXED["finish"], "quote", WAXED),
    ):  # fmt: skip
        before = panel.band.each
        control.value = value
        assert getattr(panel.case, field) == becomes
        assert panel.band.each == f"{direct(panel).each / 100:.2f} USD" != before, field
    assert "sealed and waxed" in panel.band.piece and "hollow" in panel.band.piece


def test_work_that_would_begin_before_the_offer_begins_with_it(panel: ClientMeeting) -> None:
    panel.controls.start.value = datetime.date(2026, 9, 1)
    assert panel.controls.start.value == panel.start == DAY
    asked = panel.offer.asked
    assert asked.first_casting is not None and asked.first_casting >= DAY
    assert asked == quote(compare(panel.case, panel.bench.knowledge), date=DAY, start=DAY).asked.charge


def test_a_date_takes_as_many_molds_as_it_needs_and_no_more(panel: ClientMeeting) -> None:
    alone = direct(panel)
    panel.controls.due.value = alone.delivery - datetime.timedelta(days=4)
    assert panel.case.molds > 1 and direct(panel).delivery <= panel.case.due
    fewer = replace(panel.case, molds=panel.case.molds - 1)
    late = quote(compare(fewer, panel.bench.knowledge), start=START).asked.charge
    assert late.delivery > panel.case.due  # type: ignore[operator]
    panel.controls.due.value = datetime.date(2026, 12, 1)
    assert "Tue 1 Dec 2026 is too soon:" in panel.band.remark and "is the earliest" in panel.band.remark
    panel.controls.due.value = None
    assert panel.case.molds == 1 and direct(panel) == alone


def test_the_levers_are_worked_out_aside_for_what_is_shown(panel: ClientMeeting) -> None:
    panel.controls.run.value = 100
    ready(panel)
    assert {lever.before.run for lever in panel.levers} == {100}
    assert panel.what.value.startswith("<h2>What changes the price most: ")
    assert panel.what.value.count("<tr>") == 1 + len(panel.levers)


def test_what_cannot_be_made_says_so_and_the_last_price_stays_greyed(panel: ClientMeeting) -> None:
    each = panel.band.each
    panel.bench.change(lambda case: replace(case, material="soft silicone", release=False))
    assert panel.band.problem == CANNOT and panel.band.each == each and panel.chart.dimmed
    panel.back.click()
    assert panel.band.problem == "" and not panel.chart.dimmed
    assert panel.case == panel.bench.job.case


def test_only_what_is_named_is_offered(data: Path) -> None:
    named = opened(data)
    assert [value for _, value in named.controls.material.options] == [
        "rigid urethane resin", "polymer-modified gypsum", "metal-filled urethane resin",
    ]  # fmt: skip
    plain = opened(data, "figure", materials=["casting wax"])
    assert [value for _, value in plain.controls.material.options] == ["casting wax", "rigid urethane resin, fast"]
    assert plain.controls.finish.layout.display == "none"
    assert len(opened(data, "figure").controls.material.options) > 5
    with pytest.raises(InputError, match="did you mean 'casting wax'"):
        opened(data, "figure", materials=["casting waks"])


def test_a_chart_is_drawn_for_the_page_it_is_shown_on(panel: ClientMeeting) -> None:
    heights, sizes = [], []
    for wide in (380, 1200, 1860):
        panel.band.wide = wide
        heights.append(panel.chart.height)
        sizes.append(panel.chart.figure["layout"]["font"]["size"])
    assert heights[2] > heights[1] and sizes[2] > sizes[1] == sizes[0]
    assert panel.page == "projector" and panel.chart.label.startswith("Price of a casting over the run. ")


# ---- nothing of the shop's ----------------------------------------------------------------------------


def test_nothing_of_the_shops_is_in_the_page_until_it_is_asked_for(panel: ClientMeeting) -> None:
    names = [outcome.name for outcome in panel.result.outcomes]

    def leaks() -> tuple[list[str], list[str]]:
        page = in_the_page(panel)
        return found_in(page, secrets(panel.quote)), words_in(page, names)

    assert leaks() == ([], [])
    panel.controls.finish.value = "sealed and waxed"
    ready(panel)
    assert leaks() == ([], [])
    panel.shop.switch.value = True
    shown = in_the_page(panel)
    assert html.escape(WARNING) in shown and found_in(shown, secrets(panel.quote)) == []
    press(panel.shop, "Show the shop's figures")
    figures, words = leaks()
    assert figures and "poured block" in words
    panel.shop.switch.value = False
    assert leaks() == ([], []) and panel.shop.children == ()


def test_the_shop_view_is_closed_in_the_page_and_not_only_hidden(panel: ClientMeeting) -> None:
    panel.shop.switch.value = True
    press(panel.shop, "Show the shop's figures")
    (view,) = panel.shop.children
    assert "costs, hours and margin are on this screen" in view.value
    for line in shop_rows(panel.quote)[1]:
        assert line in view.value
    panel.controls.run.value = 100
    assert shop_rows(panel.quote)[-1][1] in view.value
    panel.shop.switch.value = False
    assert view.comm is None


def test_the_question_can_be_answered_with_no(panel: ClientMeeting) -> None:
    panel.shop.switch.value = True
    press(panel.shop, "Keep them hidden")
    assert panel.shop.switch.value is False and panel.shop.children == ()


def press(box: widgets.Widget, label: str) -> None:
    for child in getattr(box, "children", ()):
        if isinstance(child, widgets.Button) and child.description == label:
            child.click()
            return
        press(child, label)


# ---- alternatives -------------------------------------------------------------------------------------


def cards(panel: ClientMeeting) -> list[str]:
    return [card.children[0].value for card in panel.cards.cards.children]


def test_what_was_asked_and_three_alternatives_stand_side_by_side(panel: ClientMeeting) -> None:
    shown = cards(panel)
    assert len(shown) == 4 and ">As asked<" in shown[0]
    for card, alternative in zip(shown[1:], panel.bench.job.alternatives, strict=True):
        charge = quote(compare(alternative.case, panel.bench.knowledge), start=START).asked.charge
        assert f"{charge.each / 100:.2f} USD each" in card and alternative.name in card
    assert "run 40 to 100: price each falls from" in shown[1]


def test_keeping_showing_and_dropping_an_alternative(panel: ClientMeeting, data: Path) -> None:
    panel.controls.run.value = 250
    panel.cards.name.value = 'Spring "large" <b>'
    panel.cards.keep.click()
    assert "Kept in captain.toml" in panel.cards.said.value and panel.cards.name.value == ""
    kept = load_job(data / "jobs" / "captain.toml")
    assert kept.alternatives[-1].name == 'Spring "large" <b>' and kept.alternatives[-1].case.run == 250
    assert len(panel.cards.shown) == 3 and "<b>" not in cards(panel)[-1]
    panel.back.click()
    assert panel.case.run == 40
    press(panel.cards.cards.children[-1], "Show this")
    assert panel.case.run == 250
    press(panel.cards.cards.children[-1], "Drop")
    press(panel.cards.cards.children[-1], "Drop it for good")
    assert [each.name for each in load_job(data / "jobs" / "captain.toml").alternatives] == [
        "A hundred for the season", "Smaller, in plaster", "Bronze look",
    ]  # fmt: skip
    assert "# minutes a casting (invented)" in (data / "jobs" / "captain.toml").read_text("utf-8")


def test_a_name_that_is_there_already_is_replaced_only_once_somebody_says_so(panel: ClientMeeting, data: Path) -> None:
    path = data / "jobs" / "captain.toml"
    before = path.read_bytes()
    panel.controls.run.value = 250
    panel.cards.name.value = " bronze  LOOK "
    for _ in range(2):  # a double click, too
        panel.cards.keep.click()
        assert "&#x27;Bronze look&#x27; is there already: replace it, or" in panel.cards.said.value
        assert path.read_bytes() == before and panel.cards.name.value == " bronze  LOOK "
    panel.cards.name.value = "As asked"
    assert panel.cards.replace not in in_order(panel.cards) and "there already" not in panel.cards.said.value
    panel.cards.keep.click()
    assert "stands for the job itself; choose another name." in panel.cards.said.value
    panel.cards.name.value = "bronze look"
    panel.cards.keep.click()
    assert path.read_bytes() == before and panel.cards.replace in in_order(panel.cards)
    panel.cards.replace.click()
    assert "Kept in captain.toml as" in panel.cards.said.value and panel.cards.name.value == ""
    assert panel.cards.replace not in in_order(panel.cards)
    kept = load_job(path).alternatives
    assert [(each.name, each.case.run) for each in kept][-1] == ("Bronze look", 250) and len(kept) == 3


def test_drop_asks_first_and_a_double_click_drops_nothing(panel: ClientMeeting, data: Path) -> None:
    path = data / "jobs" / "captain.toml"
    before = path.read_bytes()
    card = panel.cards.cards.children[-1]
    place = [button.description for button in card.children[1].children].index("Drop")
    for _ in range(2):
        card.children[1].children[place].click()
        assert path.read_bytes() == before
    assert [button.description for button in card.children[1].children] == ["Show this", "Drop"]
    press(card, "Drop")
    press(card, "Drop it for good")
    assert [each.name for each in load_job(path).alternatives] == ["A hundred for the season", "Smaller, in plaster"]


def in_order(widget: widgets.Widget) -> list[widgets.Widget]:
    """Return a widget and all below it, as they stand on the page."""
    return [widget, *(below for child in getattr(widget, "children", ()) for below in in_order(child))]


def test_of_more_than_three_one_chooses_which_are_shown(panel: ClientMeeting) -> None:
    panel.controls.run.value = 250
    panel.cards.keep.click()
    toggles = {toggle.tooltip: toggle for toggle in panel.cards.names.children}
    assert list(toggles)[-1] == "Alternative 1" and not toggles["A hundred for the season"].value
    toggles["A hundred for the season"].value = True
    assert panel.cards.shown == ["Bronze look", "Alternative 1", "A hundred for the season"]


def test_cards_that_are_drawn_anew_leave_none_of_the_old_in_the_page(panel: ClientMeeting) -> None:
    old = list(panel.cards.cards.children)
    panel.cards.redraw()
    assert all(card.comm is None and card.children[0].comm is None for card in old)


def test_a_name_that_will_not_do_is_said_in_a_sentence_and_nothing_is_lost(panel: ClientMeeting) -> None:
    panel.cards.name.value = 301 * "x"
    panel.cards.keep.click()
    assert "shorten it to 300" in panel.cards.said.value and len(panel.cards.name.value) == 301


# ---- notes --------------------------------------------------------------------------------------------


def typed(panel: ClientMeeting, text: str) -> None:
    panel.notes.text.value = text
    assert panel.notes.aside.done(PATIENCE_S)


def test_notes_are_in_the_file_as_they_are_typed(panel: ClientMeeting, data: Path) -> None:
    path = data / "jobs" / "captain.toml"
    for text in ("F", "Fo", "Forty by May,\nand <b>a hundred</b> later"):
        typed(panel, text)
        assert [note.text for note in load_job(path).notes] == [text]
    assert load_job(path).notes[0].at == NOW and not panel.notes.unkept
    assert "Kept in captain.toml, 14:30" in panel.notes.said.value
    panel.notes.new.click()
    typed(panel, "Another")
    assert [note.text for note in load_job(path).notes] == ["Forty by May,\nand <b>a hundred</b> later", "Another"]
    assert "&lt;b&gt;a hundred" in panel.notes.before.value


def test_notes_of_earlier_meetings_are_nowhere_in_the_page_until_somebody_says_so(
    panel: ClientMeeting, data: Path
) -> None:
    assert panel.notes.earlier.switch.layout.display == "none"
    typed(panel, "He would pay <b>twice</b> as much")
    again = opened(data)
    earlier = again.notes.earlier
    typed(again, "Second meeting")
    again.notes.new.click()
    assert "Second meeting" in again.notes.before.value and earlier.switch.layout.display == ""
    assert "as much" not in in_the_page(again)
    earlier.switch.value = True
    assert "for everyone who looks at it" in in_the_page(again) and "as much" not in in_the_page(again)
    press(earlier, "Keep them hidden")
    assert earlier.children == () and earlier.switch.value is False
    earlier.switch.value = True
    press(earlier, "Show the notes")
    (view,) = earlier.children
    assert "&lt;b&gt;twice&lt;/b&gt; as much" in view.value and "Second meeting" not in view.value
    earlier.switch.value = False
    assert view.comm is None and "as much" not in in_the_page(again)


def test_a_note_that_cannot_be_kept_stays_in_its_field_and_is_kept_as_soon_as_it_can(
    panel: ClientMeeting, data: Path
) -> None:
    path = data / "jobs" / "captain.toml"
    good = path.read_text("utf-8")
    path.write_text(f"{good}\n[casting]\n", "utf-8")
    typed(panel, "Forty")
    assert "Not kept yet: captain.toml: not a TOML file" in panel.notes.said.value
    panel.notes.new.click()
    assert panel.notes.text.value == "Forty" and panel.notes.unkept
    path.write_text(good, "utf-8")
    typed(panel, "Forty.")
    assert [note.text for note in load_job(path).notes] == ["Forty."]


def test_notes_and_alternatives_do_not_get_in_each_others_way(panel: ClientMeeting, data: Path) -> None:
    typed(panel, "first")
    panel.cards.keep.click()
    typed(panel, "first, then more")
    panel.cards.name.value = "Second"
    panel.cards.keep.click()
    job = load_job(data / "jobs" / "captain.toml")
    assert [note.text for note in job.notes] == ["first, then more"] and job.alternatives[-1].name == "Second"


def test_two_meetings_on_one_job_keep_both_notes(data: Path) -> None:
    one, other = opened(data), opened(data)
    typed(one, "one")
    typed(other, "other")
    typed(one, "one, and more")
    texts = {note.text for note in load_job(data / "jobs" / "captain.toml").notes}
    assert texts == {"one, and more", "other"}


# ---- the pack -----------------------------------------------------------------------------------------


def test_the_pack_says_the_prices_of_the_panel_and_holds_no_note(panel: ClientMeeting, tmp_path: Path) -> None:
    typed(panel, "He would pay twice as much")
    panel.controls.run.value = 100
    panel.pack.click()
    folder = tmp_path / "exports" / "captain"
    assert f"files are in {folder}." in panel.said.value
    page = (folder / "offer.html").read_text("utf-8")
    assert f"{direct(panel).each / 100:.2f}" in page and "twice as much" not in page
    assert (folder / "offer.pdf").read_bytes()[:4] == b"%PDF"
    assert words_in(page, [outcome.name for outcome in panel.result.outcomes]) == []


# ---- names --------------------------------------------------------------------------------------------


def written(name: str) -> str:
    """Return a name as it stands in a job file."""
    return json.dumps(name, ensure_ascii=False)


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "=1+1", "שלום", "🦆 & co", 'He said "no"', 300 * "x"])
def test_a_name_of_any_kind_stays_words(data: Path, name: str) -> None:
    path = data / "jobs" / "captain.toml"
    text = path.read_text("utf-8").replace('"Captain\'s bust for a harbor museum"', written(name))
    path.write_text(text.replace('"Bronze look"', written(name)), "utf-8")
    panel = opened(data)
    assert panel.band.job == name
    assert "<script" not in "".join(cards(panel))


def test_colours_of_the_words_stand_out_enough() -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5:1 for text; 1.4.11: 3:1 for what is only seen."""
    css = (Path(__file__).resolve().parents[2] / "moldkit/views/widgets/price_band.css").read_text("utf-8")
    for colour, ground in (("#53585e", LIGHT), ("#b3261e", LIGHT), ("#b9bfc5", DARK), ("#ff9a92", DARK)):
        assert colour in css and contrast(colour, ground["ground"]) >= 4.5
    for colour in ("#0072b2", "#b35000", "#73797f"):
        assert colour in css and contrast(colour, LIGHT["ground"]) >= 3.0
