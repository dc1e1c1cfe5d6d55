"""The shopping list: every material that a run by one technique takes, in whole kits, beside the same by weight."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from moldkit.economics.kits import KitPurchase
from moldkit.economics.purchases import Need, whole_remakes
from moldkit.errors import InputError, unknown
from moldkit.quantity import Quantity
from moldkit.study.assess import Outcome
from moldkit.study.bench.boards import OFFCUTS, board_of, box_of
from moldkit.study.compare import Comparison
from moldkit.study.load_checks import load_checks
from moldkit.study.run_plan import RunPlan
from moldkit.study.whole_kits import figure_at

Scope = Literal["first mold", "run"]
SCOPES: tuple[Scope, ...] = ("first mold", "run")
# Chemistries whose castings hold water, which nobody buys.
WITH_WATER = ("gypsum", "cement")
# 60 % is what liquid latex usually holds (from memory).
LATEX = (
    "amounts and kits are told by what stays when dry; liquid latex with 60 % solids weighs 1.67 times as much (600 g "
    "dry is a container of 1 kg)"
)
MOST_MOLDS = 100_000
BOX_BOARD = "box board"
# What a tenth of a mold is: economics.purchases.BOUGHT_FROM.
RULE = (
    "for the first mold and the remakes that the run is expected to need, in whole molds: a tenth of a remake or more "
    "counts as one, less than that as none"
)


@dataclass(frozen=True)
class ShoppingLine:
    """One material of the list.

    material: its name in the tables; purposes: what it is for; amount: that the run uses up, with its working; needed:
    that must be there, more than `amount` where it serves again; purchase: the kits; cost: of them; pro_rata: what
    `needed` costs by weight; sold_in_kits: whether it comes in kits; stays: it serves again and is bought only where
    the shop has none; note: what to mind, empty where there is nothing.
    """

    material: str
    purposes: tuple[str, ...]
    amount: Quantity
    needed: Quantity
    purchase: KitPurchase
    cost: Quantity
    pro_rata: Quantity
    sold_in_kits: bool
    stays: bool
    note: str

    @property
    def left_over(self) -> Quantity:
        """What is left of the kits when all is made."""
        words = "kits - needed"
        return Quantity(f"left over, {self.material}", self.purchase.left_over, self.needed.unit, words, (self.needed,))


@dataclass(frozen=True)
class ShoppingList:
    """What to buy for a run by one technique.

    scope: "first mold" or "run"; run: castings; molds: that are bought for, and pours; lines: what is used up; at_hand:
    what serves again and is bought only where the shop has none, in no sum; rule: how remakes were counted, in words.
    """

    technique: str
    scope: Scope
    run: int
    molds: int
    pours: int
    lines: tuple[ShoppingLine, ...]
    at_hand: tuple[ShoppingLine, ...]
    rule: str
    currency: str

    @property
    def cost(self) -> Quantity:
        """What the kits cost in all."""
        parts = tuple(line.cost for line in self.lines)
        return Quantity("cost of the kits", math.fsum(q.value for q in parts), "money", "sum of the lines", parts)

    @property
    def pro_rata(self) -> Quantity:
        """What the same amounts cost by weight."""
        parts = tuple(line.pro_rata for line in self.lines)
        return Quantity("the same by weight", math.fsum(q.value for q in parts), "money", "sum of the lines", parts)


def shopping_list(
    result: Comparison,
    technique: str,
    *,
    scope: Scope = "run",
    molds: int | None = None,
    side_by_side: int = 1,
) -> ShoppingList:
    """Return the shopping list of a comparison's run by one technique, feasible or not.

    technique: its name as shown; scope: "first mold" (with the master castings it takes, no run) or "run"; molds: to
    buy for in all, where it is more than the run is expected to wear out; side_by_side: in use at once, each with a
    shell of its own. Raises InputError for an unknown technique or scope, for fewer molds than one, and where nothing
    is known of the mold's life and no molds are said.
    """
    outcome = _outcome(result, technique)
    if scope not in SCOPES:
        raise unknown("scope", str(scope), SCOPES, "shopping list")
    if side_by_side != 1:
        molds = max(molds or 1, _counted(side_by_side))
    bought_for, rule = _molds(result, outcome, scope, molds)
    if side_by_side > 1:
        rule += f"; {side_by_side} molds are in use side by side"
    pours = int(result.pours(outcome).value) if scope == "run" else 0
    needs = [_cut(result, outcome, need) for need in outcome.needs]
    lines = [_line(result, need, bought_for, side_by_side, pours) for need in needs]
    lines = [line for line in lines if line.needed.value > 0.0]
    return ShoppingList(
        outcome.name, scope, result.case.run, bought_for, pours,
        tuple(line for line in lines if not line.stays), tuple(line for line in lines if line.stays),
        rule, result.currency,
    )  # fmt: skip


def shopping_of_plan(result: Comparison, plan: RunPlan) -> ShoppingList:
    """Return the shopping list of a run as it is planned: its molds, and a shell for each that is in use at once."""
    return shopping_list(result, plan.technique, molds=plan.molds_made, side_by_side=plan.in_use)


def _outcome(result: Comparison, technique: str) -> Outcome:
    by_name = {outcome.name: outcome for outcome in result.outcomes}
    if technique not in by_name:
        raise unknown("technique", technique, by_name, "shopping list")
    return by_name[technique]


def _counted(molds: int) -> int:
    """Return a number of molds; raises InputError for one that is none."""
    if not 1 <= molds <= MOST_MOLDS:
        raise InputError(f"shopping list: {molds!r} molds; give a whole number from 1 to {MOST_MOLDS}.")
    return molds


def _molds(result: Comparison, outcome: Outcome, scope: Scope, asked: int | None) -> tuple[int, str]:
    """Return how many molds are bought for, and the rule in words."""
    if asked is not None:
        _counted(asked)
    if scope == "first mold":
        several = "" if asked in (None, 1) else f", {asked} of them"
        return asked or 1, f"for the first mold{several}, without castings of the run"
    expected = result.molds(outcome)
    if expected is None:
        if asked is None:
            raise InputError(
                f"shopping list: nothing is known of the life of a {outcome.name} here; say for how many molds to buy."
            )
        return asked, f"for the {asked} mold{'' if asked == 1 else 's'} asked for"
    worn_out = 1 + int(whole_remakes(expected.value))
    if asked is not None and asked > worn_out:
        return asked, f"for the {asked} molds asked for; the run is expected to wear out fewer"
    return worn_out, RULE


def _cut(result: Comparison, outcome: Outcome, need: Need) -> Need:
    """Return a need with the board at hand that the cut list takes: the walls' laps, the base beyond them, offcuts."""
    if BOX_BOARD not in need.purposes:
        return need
    box = box_of(outcome.plan, board_of(load_checks(result, outcome.name)))
    return need if box is None else replace(need, at_hand=box.area * (1.0 + OFFCUTS))


def _line(result: Comparison, need: Need, molds: int, side_by_side: int, pours: int) -> ShoppingLine:
    """Return the list's line for a need, at the first of its sizes."""

    def part(name: str, count: float, each: object) -> Quantity:
        one = Quantity(f"{need.material} for {name}", float(figure_at(each)), need.unit)
        times = Quantity("times", float(count), "1")
        return Quantity(f"{need.material}: {name}", times.value * one.value, need.unit, "times x each", (times, one))

    parts = [
        part("first mold", 1, need.first), part("remakes", molds - 1, need.remake), part("castings", pours, need.pour),
    ]  # fmt: skip
    words = "first mold + remakes + castings"
    if side_by_side > 1 and figure_at(need.beside) > 0.0:
        parts.append(part("shells of molds side by side", side_by_side - 1, need.beside))
        words += " + shells of molds side by side"
    total = math.fsum(q.value for q in parts)
    amount = Quantity(need.material, total, need.unit, words, tuple(parts))
    needed = amount
    if need.at_hand is not None:
        most = max(total, float(figure_at(need.at_hand)))
        needed = Quantity(f"{need.material} at hand", most, need.unit, "what one mold takes, used up or not", (amount,))
    purchase = need.bought(needed.value)
    return ShoppingLine(
        need.material,
        need.purposes,
        amount,
        needed,
        purchase,
        Quantity(f"kits of {need.material}", purchase.cost, "money", f"cheapest kits: {purchase.words}", (needed,)),
        Quantity(
            f"{need.material} by weight", needed.value * need.price.at(0), "money", "amount x price",
            (needed, need.price),
        ),
        bool(need.kits),
        need.at_hand is not None,
        _note(result, need),
    )  # fmt: skip


def _note(result: Comparison, need: Need) -> str:
    """Return what to mind about a line."""
    row = result.knowledge.materials.castings.get(need.material)
    if row is not None and row.text("chemistry") in WITH_WATER:
        return "the powder alone; the water it is mixed with is not bought"
    if "rubber" in need.purposes and _dries(result, need):
        return LATEX
    if need.at_hand is not None:
        return "serves again: buy it only where the shop has none"
    return ""


def _dries(result: Comparison, need: Need) -> bool:
    """Return whether a rubber is latex, which is sold with its water."""
    row = result.knowledge.materials.rubbers.get(need.material)
    return row is not None and row.text("chemistry") == "latex"
