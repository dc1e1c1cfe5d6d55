"""Tables beside the charts of how sure we are, as rows of text, the headings first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from moldkit.mold_log.record import MoldRecord
from moldkit.study.logged_life import LoggedLife
from moldkit.study.retire_curve import RetireCurve
from moldkit.study.uncertainty.inputs import APART, CASTING
from moldkit.study.uncertainty.sensitivity import Sensitivity
from moldkit.study.uncertainty.spread import Spread
from moldkit.study.uncertainty.switching import Flip, Switch
from moldkit.units import System, count_text, money_text, number_text
from moldkit.views.log_text import use_text
from moldkit.views.sure_words import ALL_HOURS, of_hundred, plain_input
from moldkit.views.switch_words import by_percent, figure_words, switch_note

Rows = list[list[str]]
TOLD = (1, 3, 10, 30, 100, 300, 1_000, 3_000, 10_000)


def _told(spread: Spread) -> list[int]:
    """Return places of the runs that a table tells: round ones, as near as they were computed, and that asked for."""
    wanted = [run for run in TOLD if run <= spread.runs[-1]] + [spread.run]
    return sorted({int(np.argmin(np.abs(spread.runs - run))) for run in wanted})


def odds_rows(spread: Spread) -> Rows:
    """Return in how many of 100 plausible shops each technique is the cheapest, by run."""
    rows = [["castings in the run", *spread.techniques, "nothing works"]]
    for place in _told(spread):
        figures = [f"{100 * chance:.1f}" for chance in (*spread.chance[:, place], spread.totals.nothing)]
        rows.append([count_text(spread.runs[place]), *figures])
    return rows


def bands_rows(spread: Spread) -> Rows:
    """Return the total costs that 10, 50 and 90 % of plausible shops stay within, by run."""
    rows = [["castings in the run", *(f"{name}, {spread.currency}" for name in spread.techniques)]]
    for place in _told(spread):
        cells = []
        for low, middle, high in spread.bands[:, :, place].T:
            text = f"{number_text(middle)} ({number_text(low)} to {number_text(high)})"
            cells.append(text if np.isfinite(middle) else "no data")
        rows.append([count_text(spread.runs[place]), *cells])
    return rows


def turn_rows(spread: Spread) -> Rows:
    """Return the runs from which on another technique is the cheapest, with their spread."""
    rows = [["instead of", "the cheapest is", "from this run on", "eight in ten between", "in so many of 100 shops"]]
    for turn in spread.turns:
        low, middle, high = (count_text(run) for run in turn.runs)
        before, after = spread.techniques[turn.before], spread.techniques[turn.after]
        rows.append([before, after, middle, f"{low} and {high}", f"{100 * turn.share:.0f}"])
    return rows


def doubt_rows(found: Sensitivity | None, switches: Sequence[Switch], most: int = 10) -> Rows:
    """Return the tornado as a table: shares of the doubt, and how far each would have to be off to turn the choice."""
    rows = [["figure", "taken off by knowing it alone", "left if all else were known", "turns the choice"]]
    if found is None:
        return rows
    for place in range(min(most, len(found.names))):
        name, kind = found.names[place], found.kinds[place]
        total = float(found.shares.total[place])
        first = min(total, float(found.shares.first[place]))
        note = switch_note(switch_for(name, switches))
        rows.append([plain_input(name, kind), f"{100 * max(0.0, first):.0f} %", f"{100 * max(0.0, total):.0f} %", note])
    return rows


def switch_for(name: str, switches: Iterable[Switch]) -> Switch | None:
    """Return the switching value that belongs to an input of the sensitivity, the nearest where steps share a name."""
    step = name.removesuffix(APART) if name.endswith(APART) else None
    for switch in switches:  # the nearest flip comes first
        if switch.name in (name, f"{name}{ALL_HOURS}") or (step is not None and _moves(switch, step)):
            return switch
    return None


def _moves(switch: Switch, step: str) -> bool:
    """Return whether it moves a step: one of casting bears its own name, another stands behind its technique's."""
    of, _, moved = switch.name.partition(": ")
    return switch.name == step if step.startswith(CASTING) else moved == step and f"{of}: " != CASTING


def switch_rows(switches: Sequence[Switch], system: System = "metric", currency: str = "", most: int = 12) -> Rows:
    """Return the switching values, the nearest first; those that nothing sane turns are left out."""
    rows = [
        ["figure", "likely", "turns with less", "turns with more", "then the cheapest is", "that far off, of 100 shops"]
    ]
    for switch in [switch for switch in switches if switch.nearest is not None][:most]:
        flip = switch.nearest
        assert flip is not None, "those without a flip were left out"
        likely = "" if switch.likely is None else figure_words(switch.likely, switch.unit or "", system, currency)
        sides = [_side(switch.below), _side(switch.above)]
        then = flip.technique or "nothing works"
        rows.append([plain_input(switch.name, switch.kind), likely, *sides, then, of_hundred(flip.share)])
    return rows


def _side(flip: Flip | None) -> str:
    return "" if flip is None else by_percent(flip.factor)


def worth_rows(spread: Spread, most: int = 8) -> Rows:
    """Return what finding out each figure would be worth before deciding, the most valuable first."""
    rows = [["figure", f"worth knowing, up to, {spread.currency}", "of knowing everything"]]
    for each in [worth for worth in spread.decision.worth if worth.money > 0.0][:most]:
        rows.append([plain_input(each.name, each.kind), money_text(each.money), f"{100 * each.share:.0f} %"])
    rows.append(["every figure", money_text(spread.decision.worth_of_all), "100 %"])
    return rows


def regret_rows(spread: Spread) -> Rows:
    """Return what deciding for each technique now costs on average, and by how much it may be regretted."""
    rows = [["decide for", f"expected cost, {spread.currency}", f"expected regret, {spread.currency}", "works in"]]
    decision = spread.decision
    for name, cost, regret, works in zip(
        spread.techniques, decision.cost, decision.regret, decision.works, strict=True
    ):
        known = np.isfinite(cost)
        figures = [money_text(float(value)) if known else "no data" for value in (cost, regret)]
        rows.append([name, *figures, f"{100 * works:.0f} of 100"])
    return rows


def life_rows(life: LoggedLife) -> Rows:
    """Return the product-limit curve as a table, one row for each number of castings at which molds wore out."""
    rows = [["castings", "molds that got as far", "worn out", "outlast it", "90 % sure between"]]
    curve = life.curve
    for place in range(curve.castings.size):
        rows.append(
            [
                number_text(float(curve.castings[place])),
                count_text(float(curve.at_risk[place])),
                count_text(float(curve.worn[place])),
                f"{100 * curve.survival[place]:.0f} %",
                f"{100 * curve.low[place]:.0f} and {100 * curve.high[place]:.0f} %",
            ]
        )
    return rows


def retirement_rows(curve: RetireCurve) -> Rows:
    """Return the long run's cost of remakes and failures a pour, by the pours after which molds are retired."""
    unit = "casting" if curve.cavities == 1 else "pour"
    head = f"retire after, {unit}s"
    rows = [[head, f"remakes and failures a {unit}, {curve.currency}", "against use to failure"]]
    chosen = {round(age) for age in np.geomspace(1, curve.ages[-1], 10)} | {curve.advice.first_retired}
    for age in sorted(each for each in chosen if 0 < each <= curve.ages.size):
        cost = float(curve.costs[age - 1])
        rows.append([count_text(age), money_text(cost), f"{100 * (cost / curve.to_failure - 1):+.0f} %"])
    return [*rows, ["never", money_text(curve.to_failure), "0 %"]]


def log_rows(records: Sequence[MoldRecord]) -> Rows:
    """Return the molds of the log."""
    rows = [["mold", "rubber", "casting", "use", "castings", "state", "date"]]
    for record in records:
        count, day = count_text(record.castings), record.date.isoformat()
        rows.append([record.mold, record.rubber, record.casting, use_text(record), count, record.state, day])
    return rows
