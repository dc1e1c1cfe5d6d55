"""What the notebooks call: one line each, so that they hold no model code."""

from __future__ import annotations

import textwrap
from typing import Any

import pandas as pd

from moldkit.materials import rubber_for
from moldkit.mold_log.choose import chosen
from moldkit.mold_log.file import read_log
from moldkit.mold_log.record import log_words
from moldkit.pattern.second_opinion import second_opinion
from moldkit.study.case import case_from
from moldkit.study.client_offer import ClientOffer
from moldkit.study.compare import Comparison, compare
from moldkit.study.curves import curve_table
from moldkit.study.knowledge import Knowledge, load_knowledge
from moldkit.study.logged_life import LoggedLife
from moldkit.study.patterns import mesh_path
from moldkit.study.retire_curve import RetireCurve, retire_curve
from moldkit.study.seen import Seen, see
from moldkit.units import count_text, money_text, show
from moldkit.views.charts import Reading, cost_chart
from moldkit.views.flat_view import flat_view
from moldkit.views.how_sure import HowSure
from moldkit.views.life_charts import life_chart
from moldkit.views.life_words import life_words, retirement_words
from moldkit.views.offer_chart import price_chart
from moldkit.views.offer_figure import offer_figure
from moldkit.views.offer_look import look
from moldkit.views.pattern_colours import Colouring
from moldkit.views.retire_chart import retirement_chart
from moldkit.views.seen_text import report_text, seen_report
from moldkit.views.sure_charts import bands_chart, odds_chart
from moldkit.views.sure_tables import log_rows
from moldkit.views.sure_words import bands_words, doubt_words, odds_words
from moldkit.views.survey_report import Rubber
from moldkit.views.tables import COLUMNS, comparison_rows, fact_rows, working_text
from moldkit.views.tornado_chart import tornado_chart
from moldkit.views.verdict import verdict
from moldkit.views.widgets.chart import Chart

# Letters in a line of printed text.
WIDE = 112


def compare_job(job: dict[str, Any], knowledge: Knowledge | None = None) -> Comparison:
    """Return the comparison of a job given as plain values, in the sections of a job file."""
    return compare(case_from(job, "the job"), knowledge or load_knowledge())


def changed(job: dict[str, Any], section: str, **values: Any) -> dict[str, Any]:
    """Return the job with some values of one section changed; the job itself stays as it is."""
    return {**job, section: {**job.get(section, {}), **values}}


def side_by_side(result: Comparison) -> pd.DataFrame:
    """Return the techniques side by side as a table."""
    head, *rows = comparison_rows(result)
    return pd.DataFrame(rows, columns=head).set_index(head[0])


def crossing_table(result: Comparison) -> pd.DataFrame:
    """Return the runs at which another technique becomes the cheapest."""
    names = [outcome.name for outcome in result.outcomes]
    rows = [(count_text(c.run), names[c.before], names[c.after]) for c in result.crossings]
    return pd.DataFrame(rows, columns=["from this run on", "instead of", "the cheapest is"])


def cost_figure(result: Comparison, farthest: int = 1_000, reading: Reading = "total") -> Chart:
    """Return cost over the run as a chart for a cell."""
    said = verdict(result).sentence
    return Chart(
        cost_chart(curve_table(result, farthest), reading=reading), height=460, label=f"Cost over the run. {said}"
    )


def offer_figure_of(offer: ClientOffer) -> Chart:
    """Return the price of a casting over the run, as a client sees it, as a chart for a cell."""
    shown = price_chart(offer)
    figure = offer_figure(shown, look("light", offer.letterhead.colours), height=460)
    return Chart(figure, height=460, label=f"Price of a casting over the run. {shown.words}")


def explain(result: Comparison, technique: str, heading: str) -> str:
    """Return the working of a figure of the table as text: technique and heading as they stand there."""
    outcome = next(o for o in result.outcomes if o.name == technique)
    column = next(c for c in COLUMNS if c.heading == heading)
    figure = column.figure(result, outcome)
    return "no data" if figure is None else working_text(figure, currency=result.currency)


def what_if(jobs: dict[str, dict[str, Any]], knowledge: Knowledge | None = None) -> pd.DataFrame:
    """Return the cheapest technique and its cost for several jobs, by what was changed."""
    known = knowledge or load_knowledge()
    rows = []
    for label, job in jobs.items():
        result = compare_job(job, known)
        best = result.cheapest
        total = result.total(best) if best else None
        cost = "" if total is None else count_text(total.value)
        rows.append((label, best.name if best else "nothing works", cost))
    return pd.DataFrame(rows, columns=["changed", "cheapest", "cost of the run"]).set_index("changed")


def size_table(results: list[Comparison], techniques: tuple[str, ...]) -> pd.DataFrame:
    """Return the totals of some techniques for comparisons of one case at several sizes."""
    rows = []
    for result in results:
        totals = {o.name: result.total(o) for o in result.outcomes if o.name in techniques}
        figures = [money_text(total.value) if total else "no data" for total in totals.values()]
        rows.append([show(result.case.longest or 0.0, "m"), *figures])
    return pd.DataFrame(rows, columns=["longest side", *techniques]).set_index("longest side")


def read(pattern: dict[str, Any], knowledge: Knowledge | None = None) -> Seen:
    """Return a mesh as it was read, given as plain values as in the section [pattern] of a job file."""
    return see(case_from({"pattern": pattern}, "the pattern"), knowledge or load_knowledge())


def second_reading(seen: Seen, knowledge: Knowledge | None = None) -> pd.DataFrame:
    """Return volume, surface and longest side as we and as a general mesh library read them off the same file."""
    path = mesh_path(seen.case, (knowledge or load_knowledge()).folder)
    other, reading = second_opinion(path, seen.case.unit or ""), seen.reading
    pairs = (
        ("volume", reading.volume, other.volume, "m3"),
        ("surface", reading.area, other.area, "m2"),
        ("longest side", max(reading.extents), other.longest, "m"),
    )
    rows = [(name, show(a, unit), show(b, unit), f"{a / b - 1:+.3%}") for name, a, b, unit in pairs]
    return pd.DataFrame(rows, columns=["figure", "moldkit", other.library, "difference"]).set_index("figure")


def from_three_sides(seen: Seen, colouring: Colouring = "undercut") -> Chart:
    """Return the pattern from three sides for a cell, coloured by what was found.

    colouring: "undercut", "skin", "air standing" or "air casting".
    """
    made = flat_view(seen.picture, seen.survey, colouring, scale=seen.scale, height=470, bottom=seen.bottom)
    said = made["layout"]["title"]["text"].replace("<br>", " ")
    return Chart(made, height=470, label=f"The pattern from three sides. {said}")


def peeling(seen: Seen, rubbers: tuple[str, ...], knowledge: Knowledge | None = None) -> pd.DataFrame:
    """Return whether a one-piece skin of each rubber peels off."""
    known = knowledge or load_knowledge()
    rows = []
    for name in rubbers:
        row = rubber_for(known.materials.rubbers, name, "poured")
        rubber = Rubber(row.name, float(row.quantity("elongation").value))
        peels = "yes" if rubber.allows(seen.survey.peel.stretch) else "no"
        rows.append((row.name, show(seen.survey.peel.stretch, "share"), show(rubber.breaks_at, "share"), peels))
    return pd.DataFrame(rows, columns=["rubber", "must stretch", "breaks at", "peels off"]).set_index("rubber")


def report(seen: Seen, rubber: str | None = None, knowledge: Knowledge | None = None) -> str:
    """Return what the survey found, in sentences; rubber: a grade or family that the peeling is judged by."""
    known = knowledge or load_knowledge()
    return report_text(seen_report(seen, rubber_for(known.materials.rubbers, rubber or seen.case.rubber, "poured")))


def taken_from(seen: Seen) -> pd.DataFrame:
    """Return what the model takes from the pattern, and whether it was measured or declared."""
    return pd.DataFrame(fact_rows(seen.facts()), columns=["", "as taken", "from"]).set_index("")


def say(*sentences: str) -> None:
    """Print sentences, each a paragraph, broken between words."""
    for sentence in sentences:
        print(textwrap.fill(sentence, WIDE, break_long_words=False, break_on_hyphens=False))


def frame(rows: list[list[str]]) -> pd.DataFrame:
    """Return rows of text, the headings first, as a table for a cell."""
    head, *body = rows
    return pd.DataFrame(body, columns=head).set_index(head[0])


def odds_figure(sure: HowSure) -> Chart:
    """Return the share of plausible shops in which each technique is the cheapest, over the run."""
    return Chart(odds_chart(sure.spread), height=430, label=f"Odds over the run. {odds_words(sure.spread)}")


def bands_figure(sure: HowSure, reading: Reading = "per casting") -> Chart:
    """Return the cost over the run with the bands that eight of ten plausible shops lie in."""
    made = bands_chart(sure.spread, reading=reading)
    return Chart(made, height=460, label=f"Cost bands over the run. {bands_words(sure.spread)}")


def tornado_figure(sure: HowSure) -> Chart:
    """Return what the doubt hangs on, with how far each figure would have to be off to turn the choice."""
    made = tornado_chart(sure.doubt, sure.switches)
    return Chart(made, height=460, label=f"What the doubt hangs on. {doubt_words(sure.doubt)}")


def life_figure(life: LoggedLife) -> Chart:
    """Return the mold life as the log tells it, beside what the table says."""
    return Chart(life_chart(life), height=440, label=f"Mold life from the log. {life_words(life)}")


def retirement(result: Comparison, technique: str | None = None, lost: float = 0.0) -> RetireCurve:
    """Return when to retire molds of a technique, by default the cheapest; lost: as of `retire_curve` [money].

    The life is the one that the comparison goes by.
    """
    named = next((o for o in result.outcomes if o.name == technique), None) if technique else result.cheapest
    return retire_curve(result, named or result.outcomes[0], lost=lost)


def retirement_figure(curve: RetireCurve) -> Chart:
    """Return what retiring molds at each age costs a casting, with the advice for the run."""
    return Chart(retirement_chart(curve), height=420, label=f"When to retire a mold. {retirement_words(curve)}")


def log_frame(
    rubber: str | None = None, casting: str | None = None, state: str | None = None, knowledge: Knowledge | None = None
) -> pd.DataFrame:
    """Return the molds of the shop's log; rubber, casting: a grade or a family; state: for instance "worn out"."""
    folder = (knowledge or load_knowledge()).folder
    words = log_words(folder)
    return frame(log_rows(chosen(read_log(folder, words), words, rubber=rubber, casting=casting, state=state)))
