"""What a run takes of each material, and what whole kits of it cost beyond the same material by weight."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from moldkit.casting.plan import CastingPlan
from moldkit.economics.kits import KitPurchase, cheapest_kits, kit_totals
from moldkit.kit_sizes import Kit
from moldkit.quantity import Quantity
from moldkit.tables import Row
from moldkit.techniques.plan import Amount, MoldPlan

Floats = NDArray[np.float64]
RELEASE = "release agent"
# What is sold by weight, area or volume; the printer's hours are no material.
SOLD_BY = ("kg", "m2", "m3")
# Expected remakes are rounded up from this part of a mold on: nobody buys for one that is needed once in twenty runs.
BOUGHT_FROM = 0.1
LEAST_USE = 1e-9


@dataclass(frozen=True, eq=False)
class Need:
    """What a run takes of one material; amounts in `unit`, at one size or an array of sizes.

    purposes: what it is for ("rubber", "shell", "casting", or the supply's own name); material: its row's name; price:
    of one unit, pro rata; kits: the sizes it is sold in, none where it is sold in any amount; first, remake, pour: what
    the first mold, a remake and a pour take; at_hand: what must be there to make a mold of which only a part is used
    up, since it serves again, None where all of it is; beside: what a mold side by side with another takes more than a
    remake, its own shell.
    """

    purposes: tuple[str, ...]
    material: str
    unit: str
    price: Quantity
    kits: tuple[Kit, ...]
    first: Any = 0.0
    remake: Any = 0.0
    pour: Any = 0.0
    at_hand: Any = None
    beside: Any = 0.0

    @property
    def sizes(self) -> tuple[float, ...]:
        """What the kits hold."""
        return tuple(kit.size for kit in self.kits)

    @property
    def prices(self) -> tuple[float, ...]:
        """Prices of the kits [money]: their own, else size x price pro rata."""
        by_weight = float(self.price.at(0))
        return tuple(kit.size * by_weight if kit.price is None else kit.price for kit in self.kits)

    @property
    def in_kits(self) -> bool:
        """Whether whole kits of it enter a cost: it comes in kits, and what is bought is used up."""
        return bool(self.kits) and self.at_hand is None

    def amount(self, remakes: Any, pours: Any, pick: Callable[[Any], Any] = lambda value: value) -> Any:
        """Return what first mold, remakes and pours take together; `pick` lays a size's or all sizes' amounts out."""
        return pick(self.first) + remakes * pick(self.remake) + pours * pick(self.pour)

    def bought(self, amount: float) -> KitPurchase:
        """Return the cheapest kits for an amount; where it is sold in any amount, just that, pro rata."""
        if self.kits:
            return cheapest_kits(amount, self.sizes, self.prices, unit=self.unit)
        counts = ((amount, 1),) if amount else ()
        return KitPurchase(counts, amount, amount * float(self.price.at(0)), 0.0, self.unit)


def needs_of(
    plan: MoldPlan, casting: CastingPlan, material: Row, supplies: Mapping[str, Row], survives: bool
) -> tuple[Need, ...]:
    """Return what a run takes of each material, each material once.

    material: what is cast, of plaster and concrete the powder alone; survives: the pattern is still there for a remake,
    else a master casting takes its place. Further cavities take a master casting each.
    """
    found = [need for amount in plan.amounts if (need := _of_the_mold(plan, amount, supplies)) is not None]
    found.append(_of_castings(plan, ("casting",), material, casting["bought"].value, survives))
    if RELEASE in supplies:
        agent = supplies[RELEASE]
        used = casting["release_cost"].value / agent.quantity("price").value
        found.append(_of_castings(plan, (RELEASE,), agent, used, survives))
    return _each_once(found)


def _of_the_mold(plan: MoldPlan, amount: Amount, supplies: Mapping[str, Row]) -> Need | None:
    """Return the need for a line of a mold's bill of materials; None for what is no material."""
    unit, value = amount.amount.unit, amount.amount.value
    if unit not in SOLD_BY:
        return None
    row = {"rubber": plan.rubber, "shell": plan.shell}.get(amount.what) or supplies.get(amount.what)
    again = amount.remake * value
    if row is None:
        each = Quantity(f"price of {amount.what}", _price_of(amount), f"money/{unit}", "cost / amount", (amount.cost,))
        return Need((amount.what,), amount.what, unit, each, (), value, again)
    at_hand = None
    if amount.what in supplies and row.flag("used_again"):
        at_hand = value / np.maximum(row.quantity("use").value, LEAST_USE)
    beside = value - again if amount.what == "shell" else 0.0
    price, kits = row.quantity("price"), row.kits("kits")
    return Need((amount.what,), row.name, unit, price, kits, value, again, 0.0, at_hand, beside)


def _price_of(amount: Amount) -> float:
    """Return the price of a unit of what no table lists."""
    value = amount.amount.at(0)
    return amount.cost.at(0) / value if value else 0.0


def _of_castings(plan: MoldPlan, purposes: tuple[str, ...], row: Row, in_a_pour: Any, survives: bool) -> Need:
    """Return the need for what a pour takes, with the master castings of further cavities and of lost patterns."""
    of_one = in_a_pour / plan.cavities
    return Need(
        purposes, row.name, row.text("per") if "per" in row.values else "kg", row.quantity("price"), row.kits("kits"),
        (plan.cavities - 1.0) * of_one, 0.0 if survives else of_one, in_a_pour,
    )  # fmt: skip


def _each_once(needs: Iterable[Need]) -> tuple[Need, ...]:
    """Return the needs with those for the same material put together: it is bought once for all its purposes."""
    found: dict[tuple[str, str], Need] = {}
    for need in needs:
        key = (need.material, need.unit)
        before = found.get(key)
        found[key] = need if before is None else replace(
            before, purposes=tuple(dict.fromkeys((*before.purposes, *need.purposes))),
            first=before.first + need.first, remake=before.remake + need.remake, pour=before.pour + need.pour,
            beside=before.beside + need.beside,
        )  # fmt: skip
    return tuple(found.values())


def whole_remakes(molds: Any) -> Any:
    """Return the remakes that are bought for: the expected ones, rounded up to whole molds from a tenth of one on.

    molds: expected molds of the run, the first among them, any shape. Material for a part of a mold makes none.
    """
    remakes = np.asarray(molds, dtype=float) - 1.0
    return np.maximum(0.0, np.floor(remakes + (1.0 - BOUGHT_FROM)))[()]


def beyond_pro_rata(
    needs: Sequence[Need], molds: Any, pours: Any, pick: Callable[[Any], Any] = lambda value: value
) -> Any:
    """Return what whole kits cost more (below zero: less) than the same run by weight [money].

    molds: expected molds; pours: of the run; any shapes that go together with what `pick` makes of an amount. Kits are
    bought once, for the whole run, with remakes rounded up by `whole_remakes`. What serves again (board, clay) stays in
    the shop and is reckoned by its wear.
    """
    more: Any = 0.0
    for need in needs:
        if need.in_kits:
            kits, _ = kit_totals(need.amount(whole_remakes(molds), pours, pick), need.sizes, need.prices)
            more = more + kits - need.amount(np.asarray(molds) - 1.0, pours, pick) * need.price.at(0)
    return more
