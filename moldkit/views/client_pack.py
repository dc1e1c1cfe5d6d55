"""What is handed to a client: the offer on paper, as a page that works offline and as a workbook, with its charts."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from moldkit.economics.quote import Terms
from moldkit.files import written_together
from moldkit.study.client_choices import dated_ways, way_by
from moldkit.study.client_offer import ClientOffer, OfferLine
from moldkit.study.compare import Comparison
from moldkit.study.quote import quote
from moldkit.study.quote_words import begins_later
from moldkit.study.sooner import delivery_choices
from moldkit.units import System
from moldkit.views.offer_chart import OfferChart, delivery_chart, price_chart
from moldkit.views.offer_drawing import HIGH, WIDE, drawing
from moldkit.views.offer_look import LookName, look
from moldkit.views.offer_page.page import offer_page
from moldkit.views.offer_page.words import day_text
from moldkit.views.offer_sheet import offer_book, offer_paper
from moldkit.views.offer_words import sum_words
from moldkit.views.paper.document import Paper
from moldkit.views.paper.drawing import drawing_as_pdf, drawing_as_png
from moldkit.views.paper.folder import write_folder
from moldkit.views.paper.pdf import pdf
from moldkit.views.paper.workbook import workbook
from moldkit.views.pictures import Progress

OFFER = ("offer.pdf", "offer.html", "offer.xlsx")
CHARTS = ("price-chart", "delivery-chart")
# A chart in the shop's colours for a screen, light and dark, and black on white for a printer.
DRAWN: dict[str, LookName] = {"": "light", "-dark": "dark", "-print": "print"}
ENDINGS = (".svg", ".png", ".pdf", "-dark.svg", "-dark.png", "-print.svg", "-print.pdf")
# Every name that a pack may have had, so that a file that is no longer in it goes.
NAMES = (*OFFER, *(f"{chart}{ending}" for chart in CHARTS for ending in ENDINGS))
NO_DATES = "no dates: the job names no first day of the work; give it a start in [plan], or --first-day to export."


@dataclass(frozen=True)
class ClientPack:
    """A pack: the offer, the ways to deliver it, the files by name, and what is to be said of it."""

    offer: ClientOffer
    ways: tuple[OfferLine, ...]
    files: dict[str, bytes]
    said: tuple[str, ...]

    def write(self, folder: Path) -> list[Path]:
        """Put the pack into a folder, whole or not at all; other files stay. Raises InputError if it cannot be."""
        target = folder.resolve()
        if Path.cwd().is_relative_to(target) or target.is_mount():
            # Where one stands, or where a disk begins, no other folder can take the place.
            with written_together(folder, self.files, [name for name in NAMES if name not in self.files]) as places:
                return places
        return write_folder(folder, self.files, NAMES)


def client_pack(
    result: Comparison,
    *,
    terms: Terms | None = None,
    date: datetime.date | None = None,
    start: datetime.date | None = None,
    paper: Paper | None = None,
    system: System = "metric",
    others: Sequence[ClientOffer] = (),
    note: str = "",
    progress: Progress | None = None,
) -> ClientPack:
    """Return what is handed to a client, every file of it made.

    terms: in place of the shop's and the job's; date: of the offer, None for today; start: first day of the work, else
    the job's, with neither no dates are told; paper: else as goes with the units; others: the same piece in other
    materials and finishes, for the page; note: words to the client; progress: called with the share done and what is
    being done. The same figures on the same day give the same bytes. Raises InputError where there is nothing to offer.
    """
    tell = progress or (lambda share, doing: None)
    tell(0.0, "prices")
    day = date or datetime.date.today()
    result, wanted = _in_time(result, terms, day, start)
    offer = quote(result, terms=terms, date=day, start=start).for_client()
    ways = delivery_choices(result, terms=terms, date=day, start=start)
    sheet: Paper = paper or ("Letter" if system == "us" else "A4")
    makers = dict(_makers(offer, ways, sheet, others, note, system))
    files = {}
    for count, (name, make) in enumerate(makers.items(), start=1):
        tell(count / (len(makers) + 1), name)
        files[name] = make()
    tell(1.0, "")
    said = (sum_words(offer), *([] if offer.start else [NO_DATES]), *_moved(result.case.start, start, offer), *wanted)
    return ClientPack(offer, ways, files, said)


def _moved(planned: datetime.date | None, start: datetime.date | None, offer: ClientOffer) -> Iterator[str]:
    if planned is not None and start in (None, planned) and offer.start is not None and planned < offer.start:
        yield begins_later(planned, offer.start)


def _in_time(
    result: Comparison, terms: Terms | None, date: datetime.date, start: datetime.date | None
) -> tuple[Comparison, list[str]]:
    """Return a comparison with the molds side by side that its job's date takes, and what to say of that date."""
    due, before = result.case.due, quote(result, terms=terms, date=date, start=start)
    usual, first_day = before.asked.charge.delivery, before.prices.start
    if due is None or usual is None or first_day is None:
        return result, [] if due is None else [f"Wanted by {day_text(due)}: with no dates, nobody knows whether it is."]
    if usual <= due:
        return result, []
    way = way_by(dated_ways(result, first_day), due)
    asked = f"Wanted by {day_text(due)}; the cheapest way is out on {day_text(usual)}"
    result = replace(result, case=replace(result.case, molds=max(way.molds, result.case.molds)))
    if way.delivery <= due:
        return result, [f"{asked}, so a way that is in time is offered."]
    return result, [f"{asked}, and none is in time: the earliest is offered, out on {day_text(way.delivery)}."]


Makers = Iterator[tuple[str, Callable[[], bytes]]]


def _makers(
    offer: ClientOffer,
    ways: Sequence[OfferLine],
    paper: Paper,
    others: Sequence[ClientOffer],
    note: str,
    system: System,
) -> Makers:
    """Yield each file's name with what makes it."""
    light = look("light", offer.letterhead.colours)
    yield OFFER[0], lambda: pdf(offer_paper(offer, ways, light, note=note, system=system), paper)
    yield OFFER[1], lambda: offer_page(offer, others, note=note, system=system).encode("utf-8")
    yield OFFER[2], lambda: workbook(offer_book(offer, ways, note=note, system=system), paper)
    charts = (price_chart(offer, system), delivery_chart(offer, ways, system))
    for name, chart in zip(CHARTS, charts, strict=True):
        if chart is not None:
            yield from _pictures(name, chart, offer)


def _pictures(name: str, chart: OfferChart, offer: ClientOffer) -> Makers:
    """Yield the pictures of a chart: drawn here, so that they need no browser and are the same everywhere."""
    drawn = {ending: drawing(chart, look(kind, offer.letterhead.colours)) for ending, kind in DRAWN.items()}
    for ending, svg in drawn.items():
        yield f"{name}{ending}.svg", partial(svg.encode, "utf-8")
    for ending in ("", "-dark"):
        yield f"{name}{ending}.png", partial(drawing_as_png, drawn[ending], chart.title, WIDE, HIGH, offer.date)
    for ending in ("", "-print"):
        yield f"{name}{ending}.pdf", partial(drawing_as_pdf, drawn[ending], chart.title, WIDE / 2, HIGH / 2, offer.date)


def export_for_client(
    result: Comparison,
    folder: Path,
    *,
    date: datetime.date | None = None,
    start: datetime.date | None = None,
    paper: Paper | None = None,
    system: System = "metric",
    progress: Progress | None = None,
) -> list[str]:
    """Write the pack of a job into a folder and return what to say of it; arguments as for `client_pack`.

    All files are made before anything is written. Raises InputError as `client_pack` and `ClientPack.write` do.
    """
    pack = client_pack(result, date=date, start=start, paper=paper, system=system, progress=progress)
    return [*pack.said, *(f"written: {path}" for path in pack.write(folder))]
