"""The panel of the fifth notebook: the client meeting. Prices, dates and choices, and nothing of the shop's costs."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import ipywidgets as widgets

from moldkit.errors import InputError
from moldkit.study.alternatives import same_name
from moldkit.study.case import Case
from moldkit.study.client_choices import (
    dated_ways,
    finishes_of,
    makes,
    materials_named,
    materials_of,
    other_offers,
    way_by,
)
from moldkit.study.client_offer import ClientOffer
from moldkit.study.compare import Comparison, compare
from moldkit.study.job_entries import drop_alternative, save_alternative
from moldkit.study.job_file import JobFile, find_job, load_job
from moldkit.study.knowledge import load_knowledge
from moldkit.study.price_changes import change_list
from moldkit.study.price_levers import Lever, offered_materials_that_work, price_levers
from moldkit.study.quote import Quote, quote
from moldkit.views.change_words import client_lines, shop_lines
from moldkit.views.client_pack import client_pack
from moldkit.views.meeting_html import card_html, heading, levers_html, no_card_html, said_html, shop_html
from moldkit.views.meeting_words import CANNOT, band_words, shop_rows
from moldkit.views.offer_chart import price_chart
from moldkit.views.offer_figure import offer_figure
from moldkit.views.offer_look import look
from moldkit.views.panel.aside import Aside
from moldkit.views.panel.guard import guarded
from moldkit.views.panel.meeting_cards import AS_ASKED, AlternativeCards, NameTaken
from moldkit.views.panel.meeting_controls import MeetingControls
from moldkit.views.panel.meeting_notes import MeetingNotes
from moldkit.views.panel.shop_view import ShopView
from moldkit.views.panel.workbench import Workbench
from moldkit.views.widgets.chart import Chart
from moldkit.views.widgets.price_band import PriceBand

# From this width of the page on it is a projector's, below the other a phone's [dots].
PROJECTOR_WIDE, PHONE_WIDE = 1_500, 700
# Height of the chart, and the width that its labels are placed for, on a phone, a laptop and a projector [dots].
CHART_SIZES = {"phone": (430, 330), "laptop": (440, 600), "projector": (600, 880)}


class ClientMeeting(widgets.VBox):  # type: ignore[misc]
    """Price and date on top, the client's choices beside the price over the run, alternatives, notes below.

    case, result, offer are the present ones, so that a cell or a test can read them. What the shop sees is nowhere in
    the page until somebody asks for it and says yes.
    """

    def __init__(
        self,
        job: str | os.PathLike[str],
        data: str | os.PathLike[str] | None = None,
        *,
        materials: Sequence[str] | None = None,
        start: datetime.date | None = None,
        date: datetime.date | None = None,
        now: Callable[[], datetime.datetime] = datetime.datetime.now,
    ) -> None:
        """Open a job: a path, or the name of one in the data folder's jobs.

        materials: those offered, else those that the job and its alternatives name, and where that is only one all that
        the job's method can cast; start: first day of the work, else the job's,
        else today; date: of the offer, else today; now: the time, for notes. Raises InputError in one sentence when the
        job or the data cannot be read, or nothing works as the job asks.
        """
        knowledge = load_knowledge(data)
        self.bench = Workbench(load_job(find_job(job, knowledge.folder)), knowledge)
        self._date, self._start = date, start
        asked = self.bench.job.case
        offered = materials_of(asked, knowledge, materials or materials_named(self.bench.job))
        self.materials = offered_materials_that_work(self.bench.result, offered, knowledge)
        self.quote: Quote = self._quoted(self.result)
        self.levers: tuple[Lever, ...] = ()
        self.aside = Aside(self._find_levers)
        self._make_views(now)
        super().__init__(children=self._children(), layout=widgets.Layout(width="100%", overflow="visible"))
        for name in ("moldkit-panel", "moldkit-meeting"):
            self.add_class(name)
        self.bench.on_result(self._refresh)
        self.bench.on_problem(self._say_problem)
        self._refresh(True)
        self._show_alternatives()

    @property
    def case(self) -> Case:
        """The case as it stands."""
        return self.bench.case

    @property
    def result(self) -> Comparison:
        """The comparison of the case as it stands."""
        return self.bench.result

    @property
    def offer(self) -> ClientOffer:
        """What the client sees of it."""
        return self._offer

    @property
    def start(self) -> datetime.date:
        """First day of the work."""
        return self._begins(self.case)

    def _begins(self, case: Case) -> datetime.date:
        """Return a case's first day of work, but not before the offer's own day."""
        return max(case.start or self._first_day, self._date or datetime.date.today())

    @property
    def _first_day(self) -> datetime.date:
        """First day of the work where a case names none."""
        return self._start or datetime.date.today()

    def _quoted(self, result: Comparison) -> Quote:
        return quote(result, date=self._date, start=self._begins(result.case))

    def _make_views(self, now: Callable[[], datetime.datetime]) -> None:
        job, knowledge = self.bench.job, self.bench.knowledge
        self.controls = MeetingControls(
            job.case, self.result.longest, knowledge, self.materials, finishes_of(job, knowledge), self._change
        )
        self.band = PriceBand()
        self.chart = Chart(height=CHART_SIZES["laptop"][0], label="Price of a casting over the run")
        self._drawn_for = self.page
        self.band.observe(lambda _: self._guard(self._page_changed), names="wide")
        self.what = widgets.HTML()
        self.cards = AlternativeCards(self._card, self._keep, self._take, self._drop)
        self.notes = MeetingNotes(job, self._noted, now)
        self.back = self._button("Back to what was asked", self.bench.reset)
        self.back.layout.align_self = "flex-start"
        self.pack = self._button("Make the client's pack", self._make_pack)
        self.said = widgets.HTML(said_html(""))
        self.shop = ShopView(self._shop_figures, self._guard)

    def _children(self) -> list[widgets.Widget]:
        row = widgets.Layout(flex_flow="row wrap", align_items="center", width="100%")
        left = widgets.VBox(
            [widgets.HTML(heading("What you can choose")), *self.controls.all, self.back],
            layout=widgets.Layout(flex="1 1 320px", min_width="min(300px, 94vw)", margin="0 12px 0 0"),
        )
        right = widgets.VBox([self.chart], layout=widgets.Layout(flex="2 1 420px", min_width="min(320px, 94vw)"))
        body = widgets.Box([left, right], layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        end = widgets.Box([self.pack, self.shop.switch], layout=row)
        return [self.band, body, self.what, self.cards, self.notes, end, self.said, self.shop]

    def _button(self, label: str, action: Callable[[], object]) -> widgets.Button:
        made = widgets.Button(description=label, layout=widgets.Layout(width="auto"))
        made.on_click(lambda _: self._guard(action))
        return made

    def _guard(self, action: Callable[[], object]) -> None:
        guarded(action, lambda words: self._say(words, bad=True))

    def _say(self, words: str, *, bad: bool = False) -> None:
        self.said.value = said_html(words, bad=bad)

    def _change(self, edit: Callable[[Case], Case], settled: bool = True) -> None:
        """Take up a choice; with a date asked for, as many molds side by side as it takes."""

        def with_date(case: Case) -> Case:
            changed = edit(case)
            return self._in_time(changed) if settled else changed

        self.bench.change(with_date, settled)

    def _in_time(self, case: Case) -> Case:
        """Return a case with the fewest molds that make its date, with the job's own where it has none."""
        case = replace(case, molds=self.bench.job.case.molds)
        if case.due is None:
            return case
        result = compare(case, self.bench.knowledge)
        if result.cheapest is None:
            return case
        return replace(case, molds=way_by(dated_ways(result, self._begins(case)), case.due).molds)

    def _refresh(self, settled: bool) -> None:
        """Show the present price; what a client could change is worked out aside once nothing moves any more."""
        try:
            self.quote = self._quoted(self.result)
        except InputError:
            self._say_problem(CANNOT)
            self._show_controls(settled)
            return
        self._offer = self.quote.for_client()
        self._show_band()
        self._draw_chart(settled)
        if not settled:
            return
        self._show_controls(settled)
        self.shop.refresh()
        self.aside.ask(self.bench.version, self.result, self.start)

    @property
    def page(self) -> str:
        """What the panel is shown on: "phone", "laptop" or "projector"."""
        wide = self.band.wide
        return "projector" if wide >= PROJECTOR_WIDE else ("phone" if 0 < wide < PHONE_WIDE else "laptop")

    def _draw_chart(self, settled: bool) -> None:
        height, wide = CHART_SIZES[self.page]
        shown, colours = price_chart(self._offer), self._offer.letterhead.colours
        figure = offer_figure(shown, look("light", colours), height=height, wide=wide, big=self.page == "projector")
        if self.page == "phone":
            figure["layout"]["xaxis"] |= _fewer_ticks(shown.across.ticks)
        if not settled:
            self.chart.draw(figure)
            return
        self.chart.height = height
        self.chart.label = f"Price of a casting over the run. {shown.words}"
        self.chart.settle(figure)

    def _page_changed(self) -> None:
        """Draw the chart anew for a page of another kind."""
        with self.bench.lock:
            if self.page != self._drawn_for:
                self._drawn_for = self.page
                self._draw_chart(True)

    def _show_controls(self, settled: bool) -> None:
        if settled:
            self.controls.show(self.case, self.result.longest, self.start)
            self.back.disabled = self.bench.saved

    def _show_band(self) -> None:
        offer, head = self._offer, self._offer.letterhead
        words = band_words(offer, makes(self.case, self.bench.knowledge), self.case.due)
        with self.band.hold_sync():
            for name, text in vars(words).items():
                setattr(self.band, name, text)
            self.band.shop, self.band.job = head.name, offer.job
            self.band.logo = head.logo.address if head.logo else ""
            self.band.colour = head.colours[0] if head.colours else ""
            self.band.problem = ""
            self.band.seq = self.bench.version
        self.chart.dimmed = False

    def _say_problem(self, words: str) -> None:
        self.band.problem = words
        self.band.seq = self.bench.version
        self.chart.dimmed = bool(words)

    def _find_levers(self, version: int, result: Comparison, start: datetime.date) -> None:
        """Find what changes the price, unless the choices have moved on."""
        job, knowledge = self.bench.job, self.bench.knowledge
        found = price_levers(
            result, materials=self.materials, finishes=finishes_of(job, knowledge), job=job.case, start=start
        )
        with self.bench.lock:
            if version == self.bench.version:
                self.levers = found
                self.what.value = levers_html(found, result.currency)

    def _show_alternatives(self) -> None:
        job = self.bench.job
        self.cards.show(job.case, {each.name: each.case for each in job.alternatives})

    def _card(self, name: str, case: Case) -> str:
        """Return the card of an alternative, with what differs from what was asked."""
        knowledge, asked = self.bench.knowledge, self.bench.job.case
        try:
            offer = self._quoted(compare(case, knowledge)).for_client()
            changes = change_list(asked, case, knowledge, start=self._first_day)
        except InputError:
            return no_card_html(name, CANNOT)
        return card_html(name, offer, makes(case, knowledge), client_lines(changes, offer.currency, brief=True))

    def _keep(self, name: str, replaced: bool) -> None:
        """Keep the present choices in the job's file under a name; replaced: in place of the one that has it."""
        with self.bench.lock:
            job = self.bench.job
            there = next((each.name for each in job.alternatives if same_name(each.name, name)), None)
            if same_name(name, AS_ASKED):
                raise InputError(f"{AS_ASKED!r} stands for the job itself; choose another name.")
            if there is not None and not replaced:
                raise NameTaken(f"{there!r} is there already: replace it, or give another name.")
            name = there or name
            self._took(save_alternative(job, name, self.case))
        self._show_alternatives()
        self.cards.say(f"Kept in {self.bench.job.path.name} as {name!r}.")

    def _drop(self, name: str) -> None:
        def dropped() -> None:
            with self.bench.lock:
                self._took(drop_alternative(self.bench.job, name))
            self._show_alternatives()
            self.cards.say(f"Dropped {name!r} from {self.bench.job.path.name}.")

        guarded(dropped, lambda words: self.cards.say(words, bad=True))

    def _take(self, case: Case) -> None:
        self.bench.change(lambda _: case)

    def _took(self, job: JobFile) -> None:
        """Go on from the job's file as it was written; where somebody changed the job itself, that stays to be seen."""
        if job.case == self.bench.job.case:
            self.bench.job = job
            self.controls.offer_finishes(finishes_of(job, self.bench.knowledge))

    def _noted(self, job: JobFile) -> None:
        with self.bench.lock:
            if job.case == self.bench.job.case:
                self.bench.job = job

    def _make_pack(self) -> None:
        """Write what is handed to the client, with the other materials and finishes to choose from in the page."""
        finishes = finishes_of(self.bench.job, self.bench.knowledge)
        start, date = self.start, self._date
        others = other_offers(self.result, self.materials, finishes, date=date, start=start)
        pack = client_pack(self.result, date=date, start=start, others=others, progress=self._tell_progress)
        folder = Path.cwd() / "exports" / self.bench.job.path.stem
        written = pack.write(folder)
        self._say(f"{' '.join(pack.said)} {len(written)} files are in {folder}.")

    def _tell_progress(self, share: float, doing: str) -> None:
        self._say(f"{100 * share:.0f} % {doing}")

    def _shop_figures(self) -> str:
        """Return what only the shop sees: costs by run, notes on the terms, what the choices changed."""
        changes = change_list(self.bench.job.case, self.case, self.bench.knowledge, start=self._first_day)
        return shop_html(shop_rows(self.quote), self.quote.notes, shop_lines(changes, self.result.currency))


def _fewer_ticks(ticks: Sequence[tuple[float, str]]) -> dict[str, object]:
    """Return a scale's ticks for a narrow page: every third, standing upright."""
    kept = ticks[::3]
    return {"tickvals": [value for value, _ in kept], "ticktext": [words for _, words in kept], "tickangle": 0}
