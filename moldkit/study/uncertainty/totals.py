"""Costs over the run in every draw: who is the cheapest how often, bands round each curve, where the choice turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moldkit.economics.renewal_grid import Molds, molds_of_lives
from moldkit.economics.run_cost import TIE, total_cost
from moldkit.study.assess import pours_for
from moldkit.study.uncertainty.model import Shops

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
BANDS = (0.1, 0.5, 0.9)
# Costs held at once: draws times runs, for each technique.
AT_ONCE = 1 << 16


@dataclass(frozen=True, eq=False)
class Totals:
    """Costs over the run from all draws; t techniques, r runs, d draws.

    runs: shape (r,); chance: share of draws in which each technique is the cheapest of those that work, shape (t, r);
    nothing: share of draws in which none works; bands: total cost that 10, 50 and 90 % of draws stay within, whether
    the technique works or not, shape (3, t, r) [money]; mean: its mean, shape (t, r) [money]; both not a number without
    a known life; turns: first run at which the draw's choice passes from one technique to another, shape (t, t, d)
    by (before, after), not a number where it never does.
    """

    runs: Whole
    chance: Floats
    nothing: float
    bands: Floats
    mean: Floats
    turns: NDArray[np.float32]


class RunCosts:
    """Costs of all techniques in all draws, a few runs at a time; techniques whose molds wear alike share a look-up."""

    def __init__(self, found: Shops, runs: Whole) -> None:
        self.found = found
        self.runs = runs
        self.pours = {cavities: pours_for(found.case, cavities, runs) for cavities in set(found.cavities)}
        self._molds: dict[int, Molds] = {}
        # For each technique the one whose expected molds are also its own; None without a known life.
        self._like = [self._alike(t) if found.known[t] else None for t in range(len(found.cavities))]

    def _alike(self, t: int) -> int:
        found = self.found
        for other in self._molds:
            if found.cavities[other] == found.cavities[t] and _same_lives(found, other, t):
                return other
        self._molds[t] = molds_of_lives(found.median[t], found.spread[t], self.pours[found.cavities[t]])
        return t

    def block(self, start: int, stop: int) -> Floats:
        """Return costs of the runs from `start` to `stop`, shape (t, stop - start, d) [money]; no life, infinite."""
        found = self.found
        costs = np.full((len(found.cavities), stop - start, found.count), np.inf)
        molds = {t: m.at(start, stop) for t, m in self._molds.items()}
        for t, like in enumerate(self._like):
            if like is not None:
                pours = self.pours[found.cavities[t]][start:stop, None]
                costs[t] = total_cost(found.first[t], found.remake[t], found.pour[t], molds[like], pours)
        return costs


def _same_lives(found: Shops, one: int, other: int) -> bool:
    return np.array_equal(found.median[one], found.median[other]) and np.array_equal(
        found.spread[one], found.spread[other]
    )


def costs_at(found: Shops, run: int) -> Floats:
    """Return what each technique's run costs in every draw, feasible or not, shape (t, d) [money]."""
    return np.asarray(RunCosts(found, np.array([run], dtype=np.int64)).block(0, 1)[:, 0])


def totals(found: Shops, runs: Whole) -> Totals:
    """Return the costs over the run from all draws, in blocks that bound the memory.

    runs: whole numbers, rising, shape (r,). In each draw the choice goes by the comparison's rule: at a tie the one
    before stays, at the start the first of the list. A turn between two of the runs is placed where the straight lines
    between them cross.
    """
    count, techniques = found.count, len(found.cavities)
    costs_of = RunCosts(found, runs)
    per_block = max(1, AT_ONCE // count)
    chance, mean = np.zeros((techniques, runs.size)), np.empty((techniques, runs.size))
    bands = np.empty((3, techniques, runs.size))
    choice = _Choice(found, runs)
    for start in range(0, runs.size, per_block):
        stop = min(start + per_block, runs.size)
        costs = costs_of.block(start, stop)
        mean[:, start:stop] = costs.mean(axis=2)
        chance[:, start:stop] = choice.follow(costs, start)
        bands[:, :, start:stop] = _bands(costs)
    known = found.known
    bands[:, ~known], mean[~known] = np.nan, np.nan
    nothing = float(np.mean(~np.any(found.feasible & known[:, None], axis=0)))
    return Totals(runs, chance, nothing, bands, mean, choice.turns)


def _bands(costs: Floats) -> Floats:
    """Return the costs within which 10, 50 and 90 % of draws stay, shape (3, t, b); reorders the costs in place."""
    count = costs.shape[-1]
    low, middle, high = (max(0, int(np.ceil(share * count - 1e-9)) - 1) for share in BANDS)
    costs.partition(middle, axis=-1)
    if low < middle:
        costs[..., :middle].partition(low, axis=-1)
    if high > middle:
        costs[..., middle + 1 :].partition(high - middle - 1, axis=-1)
    return np.stack([costs[..., low], costs[..., middle], costs[..., high]])


class _Choice:
    """The cheapest technique of every draw, followed along the runs."""

    def __init__(self, found: Shops, runs: Whole) -> None:
        techniques = len(found.cavities)
        self.out = ~(found.feasible & found.known[:, None])
        self.runs = runs
        self.turns = np.full((techniques, techniques, found.count), np.nan, dtype=np.float32)
        self._anything = ~np.all(self.out, axis=0)
        # Choice and costs at the run before.
        self._now: NDArray[np.int8] | None = None
        self._last: Floats | None = None

    def follow(self, costs: Floats, start: int) -> Floats:
        """Return the share of draws in which each technique is the choice at the next runs, shape (t, b).

        costs: theirs, shape (t, b, d) [money]; start: place of the first of them in the runs.
        """
        open_costs = np.where(self.out[:, None, :], np.inf, costs)
        least, choice = _lowest(open_costs)
        for place in range(choice.shape[0]):
            if self._now is not None:
                here = open_costs[:, place]
                self._stay_at_ties(choice[place], here, least[place])
                self._note_turns(choice[place], here, start + place)
            self._now, self._last = choice[place], open_costs[:, place]
        return np.stack([np.mean((choice == t) & self._anything, axis=1) for t in range(len(costs))])

    def _stay_at_ties(self, now: NDArray[np.int8], here: Floats, least: Floats) -> None:
        """Put the choice of the run before back where it is no dearer."""
        assert self._now is not None, "a choice was made at the run before"
        moved = np.flatnonzero(now != self._now)
        before = self._now[moved]
        stays = here[before, moved] <= least[moved] * (1.0 + TIE) + TIE
        now[moved[stays]] = before[stays]

    def _note_turns(self, now: NDArray[np.int8], here: Floats, place: int) -> None:
        assert self._now is not None and self._last is not None, "turns are noted from the second run on"
        draws = np.flatnonzero((now != self._now) & self._anything)
        before, after = self._now[draws], now[draws]
        new = np.isnan(self.turns[before, after, draws])
        if not new.any():
            return
        draws, before, after = draws[new], before[new], after[new]
        ahead = self._last[after, draws] - self._last[before, draws]
        behind = here[before, draws] - here[after, draws]
        low, high = self.runs[place - 1], self.runs[place]
        share = np.clip(ahead / np.maximum(ahead + behind, 1e-300), 0.0, 1.0)
        self.turns[before, after, draws] = np.clip(np.floor(low + share * (high - low)) + 1, low + 1, high)


def _lowest(costs: Floats) -> tuple[Floats, NDArray[np.int8]]:
    """Return the least of costs (t, b, d) and which technique has it, the first of equals, each of shape (b, d)."""
    least, choice = costs[0].copy(), np.zeros(costs.shape[1:], dtype=np.int8)
    for t in range(1, len(costs)):
        lower = costs[t] < least * (1.0 - TIE) - TIE
        np.copyto(least, costs[t], where=lower)
        np.copyto(choice, np.int8(t), where=lower)
    return least, choice
