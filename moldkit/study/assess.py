"""One case assessed: for each technique the plan, the casting, the findings, the life and the costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from moldkit.casting.plan import CastingMaterials, CastingPlan, MoldAtHand
from moldkit.economics.life import Life, life_row, median_life
from moldkit.economics.many_lives import share_worn
from moldkit.economics.purchases import Need, needs_of
from moldkit.errors import InputError, unknown
from moldkit.findings.plan import Deadline, Finding, Raised, Situation, findings_at, raised, ruled_out_by, stopped
from moldkit.kit_sizes import Kit
from moldkit.materials import rubber_for, shell_for
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading
from moldkit.quantity import Quantity
from moldkit.shop import with_overrides
from moldkit.study.case import Case
from moldkit.study.deadline import deadline_of
from moldkit.study.knowledge import Knowledge, Technique
from moldkit.study.patterns import pattern_of, scale_of
from moldkit.tables import Row
from moldkit.techniques.plan import Choices, MoldMaterials, MoldPlan
from moldkit.units import System, show

THIN_WALL = 0.004
# Variation from mold to mold where the pair has no row of its own; from memory.
USUAL_SPREAD = 0.3


@dataclass(frozen=True)
class Outcome:
    """What one technique comes to, at one size or an array of sizes.

    stop: whether it is ruled out; life: None where nothing is known of the pair, or where its median or its spread is
    an array over draws; median [pours] and spread (coefficient of variation from mold to mold): None where nothing is
    known of the pair; first, remake, pour: costs of the first mold, of a remake and of one pour, materials by weight;
    needs: what a run takes of each material.
    """

    technique: Technique
    plan: MoldPlan
    casting: CastingPlan
    raised: tuple[tuple[Row, Raised], ...]
    stop: Any
    life: Life | None
    median: Quantity | None
    spread: Quantity | None
    first: Quantity
    remake: Quantity
    pour: Quantity
    attended_first: Quantity
    attended_remake: Quantity
    elapsed_first: Quantity
    needs: tuple[Need, ...]

    @property
    def name(self) -> str:
        """The technique's name as shown."""
        return self.technique.name

    def stop_at(self, index: int = 0) -> bool:
        """Return whether the technique is ruled out at one size."""
        stop = np.asarray(self.stop)
        return bool(stop.reshape(-1)[index] if stop.ndim else stop)

    def ruled_out_by(self, index: int = 0) -> str:
        """Return the rule that rules the technique out at one size; empty where none does."""
        return ruled_out_by(self.raised, index)

    def findings(self, index: int = 0, system: System = "metric", currency: str = "") -> tuple[Finding, ...]:
        """Return the findings in words for one size, the gravest first."""
        return findings_at(self.raised, index=index, system=system, currency=currency)


@dataclass(frozen=True)
class Setting:
    """A case with the rows it names and the shop as it is for this case."""

    case: Case
    knowledge: Knowledge
    shop: Row
    material: Row
    method: Row
    method_plan: Any
    surface: Row
    choices: Choices


def setting_of(case: Case, knowledge: Knowledge) -> Setting:
    """Return the case with its rows looked up; raises InputError for an unknown material, method or surface."""
    materials = knowledge.materials
    if case.material not in materials.castings:
        raise unknown("casting material", case.material, materials.castings, "[casting] material")
    if case.method not in knowledge.methods:
        raise unknown("casting method", case.method, knowledge.methods, "[casting] method")
    if case.surface not in materials.surfaces:
        raise unknown("surface", case.surface, materials.surfaces, "[pattern] surface")
    shop = with_overrides(knowledge.shop, case.shop, "[shop]")
    degassed = shop.flag("has_vacuum_chamber") if case.degassed is None else case.degassed
    choices = Choices(
        case.margin,
        case.skin,
        case.cavities,
        case.pours,
        case.container,
        case.pieces,
        case.keep_shell,
        degassed,
    )
    if case.container == "round" and case.cavities > 1:
        raise InputError("[mold] container: 'round' holds one pattern; leave cavities out or say 'rectangular'.")
    if case.degassed and not shop.flag("has_vacuum_chamber"):
        raise InputError("[mold] degassed: true, but the shop has no vacuum chamber; leave it out or say false.")
    if case.container == "round" and not shop.numbers("tubes"):
        raise InputError(
            "[mold] container: 'round', but the shop lists no tubes; add their bores to it or say 'rectangular'."
        )
    method = knowledge.methods[case.method]
    return Setting(
        case, knowledge, shop, materials.castings[case.material], method.row, method.plan,
        materials.surfaces[case.surface], choices,
    )  # fmt: skip


def assess(case: Case, knowledge: Knowledge, reading: Reading, scale: Any = None) -> tuple[Outcome, ...]:
    """Return what every technique comes to, in the table's order.

    scale: a number or an array of shape (s,) that the reading's lengths are multiplied by; None for the case's own.
    Raises InputError for unknown words, a skin over half of the pattern, or a fault in a table.
    """
    setting = setting_of(case, knowledge)
    pattern = pattern_of(case, reading, scale_of(case, reading) if scale is None else scale)
    _check_skin(case, pattern)
    return tuple(_outcome(setting, technique, pattern) for technique in knowledge.techniques)


def _check_skin(case: Case, pattern: Pattern) -> None:
    longest = float(np.max(pattern.longest.value))
    if case.skin is not None and case.skin > longest / 2:
        raise InputError(
            f"[mold] skin: {show(case.skin, 'm')} is more than half of the pattern's longest side "
            f"({show(longest, 'm')}); give a thinner skin."
        )


def _outcome(setting: Setting, technique: Technique, pattern: Pattern) -> Outcome:
    case, knowledge = setting.case, setting.knowledge
    row = technique.row
    rubber = _priced(rubber_for(knowledge.materials.rubbers, case.rubber, row.text("goes_on")), case.rubber_price)
    made = row.text("shell")
    shell = None if made == "none" else shell_for(knowledge.materials.shells, made, case.shell)
    bench = MoldMaterials(rubber, shell, knowledge.materials.supplies, setting.shop)
    plan = technique.plan(pattern, setting.choices, bench, technique.steps)
    casting = _casting(setting, pattern, plan)
    median, spread = _life(setting, rubber, pattern.undercut)
    attended = _sum("attended time of the first mold", [step.attended for step in plan.steps])
    again = _sum("attended time of a remake", [_shared(s.attended, s.remake) for s in plan.steps if s.remake])
    first, remake = _mold_costs(setting.shop, pattern, plan, casting, attended, again)
    pours = pours_for(case, plan.cavities, case.run)
    life, chance = _one_life(median, spread, pours)
    situation = Situation(
        row, plan, casting, pattern, setting.surface, rubber, setting.material, setting.method, setting.shop,
        case.release, median is not None, chance, _deadline(setting, technique, pattern, plan, casting, life),
    )  # fmt: skip
    found = tuple(raised(knowledge.rules, situation))
    if not pattern.survives:
        master = _master("time of a master casting", "time of one casting", casting["attended"], plan)
        again = _sum("attended time of a remake", [*again.inputs, master])
    waits = _sum("waits of the first mold", [s.wait for s in plan.steps])
    elapsed = Quantity(
        "elapsed time of the first mold",
        attended.value + waits.value,
        "s",
        "attended time + waits",
        (attended, waits),
    )
    return Outcome(
        technique, plan, casting, found, stopped(found), life, median, spread, first, remake, casting["cost"],
        attended, again, elapsed, _needs(setting, pattern, plan, casting),
    )  # fmt: skip


def _deadline(
    setting: Setting, technique: Technique, pattern: Pattern, plan: MoldPlan, casting: CastingPlan, life: Life | None
) -> Deadline | None:
    """Return the job's date beside the run's plan; None without a date, without a life, and for many sizes or draws."""
    case = setting.case
    if case.due is None or life is None or np.ndim(casting["attended"].value) or np.ndim(plan["mold_mass"].value):
        return None
    return deadline_of(
        case, setting.shop, plan, casting, life, steps=technique.steps.rows,
        casting_steps=setting.knowledge.casting_steps, method=setting.method,
        pours=int(pours_for(case, plan.cavities, case.run)), survives=pattern.survives,
    )  # fmt: skip


def _priced(rubber: Row, price: float | None) -> Row:
    """Return the rubber with the job's own price a kg, where it names one; its kits' own prices go along with it."""
    if price is None:
        return rubber
    own = Quantity("rubber price", price, "money/kg", "from the job", source="the job", low=price, high=price)
    times = price / rubber.quantity("price").at(0)
    kits = tuple(Kit(kit.size, None if kit.price is None else kit.price * times) for kit in rubber.kits("kits"))
    return Row(rubber.name, rubber.where, {**rubber.values, "price": own, "kits": kits})


def _needs(setting: Setting, pattern: Pattern, plan: MoldPlan, casting: CastingPlan) -> tuple[Need, ...]:
    return needs_of(plan, casting, setting.material, setting.knowledge.materials.supplies, pattern.survives)


def _casting(setting: Setting, pattern: Pattern, plan: MoldPlan) -> CastingPlan:
    mold = MoldAtHand(plan["pieces"], plan["parting_length"], plan.cavities)
    materials = CastingMaterials(
        setting.material, setting.method, setting.knowledge.materials.supplies, setting.shop, setting.case.wall,
        setting.case.release,
    )  # fmt: skip
    casting: CastingPlan = setting.method_plan(pattern, mold, materials, setting.knowledge.casting_steps)
    return casting


def _life(setting: Setting, rubber: Row, undercut: str) -> tuple[Quantity | None, Quantity | None]:
    """Return median and spread of the mold life, the spread 0 for a certain one; (None, None): nothing is known."""
    case = setting.case
    if isinstance(case.life, (int, float)):
        certain = Quantity("mold life", case.life, "pours", "certain, from the job", source="the job")
        return certain, Quantity("spread of mold life", 0.0, "1", "certain, from the job", source="the job")
    row = life_row(setting.knowledge.life, rubber, setting.material)
    own = None
    if isinstance(case.life, tuple):
        low, likely, high = case.life
        own = Quantity("median mold life", likely, "pours", "from the job", source="the job", low=low, high=high)
    wall = case.wall if case.wall is not None else setting.shop.quantity("hollow_wall").value
    thin = setting.method.flag("hollow") and wall < THIN_WALL
    uses = {
        "method": case.method,
        "undercut": undercut,
        "wall": "thin" if thin else "full",
        "release": "yes" if case.release else "no",
    }
    median = median_life(setting.knowledge.life, row, own, uses)
    if median is None:
        return None, None
    usual = Quantity("spread of mold life", USUAL_SPREAD, "1", "where the pair has no row", source="from memory")
    return median, usual if row is None else row.quantity("spread")


def _one_life(median: Quantity | None, spread: Quantity | None, pours: Any) -> tuple[Life | None, Any]:
    """Return the distribution of the mold life, where it is one, and the chance that the run wears out a first mold."""
    if median is None or spread is None:
        return None, 0.0
    if np.ndim(median.value) or np.ndim(spread.value):
        return None, share_worn(pours - 1, np.maximum(1.0, median.value), spread.value)
    life = Life(max(1.0, float(median.value)), float(spread.value))
    return life, float(life.chances[:pours].sum())


def _sum(name: str, parts: Iterable[Quantity]) -> Quantity:
    listed = tuple(parts)
    return Quantity(name, sum((q.value for q in listed), 0.0), listed[0].unit, "sum of its parts", listed)


def _shared(q: Quantity, share: float) -> Quantity:
    if share == 1.0:
        return q
    return Quantity(f"{q.name}, repeated", q.value * share, q.unit, f"{share:.0%} of it is repeated", (q,))


def _master(name: str, words: str, of_pour: Quantity, plan: MoldPlan) -> Quantity:
    """Return what a master casting takes, one casting's share of a pour's time or cost."""
    return Quantity(name, of_pour.value / plan.cavities, of_pour.unit, words, (of_pour,))


def _mold_costs(
    shop: Row, pattern: Pattern, plan: MoldPlan, casting: CastingPlan, attended: Quantity, again: Quantity
) -> tuple[Quantity, Quantity]:
    """Return the cost of the first mold and of a remake: materials + labor, with the master castings they need.

    attended, again: attended time of the mold's own steps, the first time and in a remake [s].
    """
    rate = shop.quantity("labor_rate")

    def labor(name: str, time: Quantity) -> Quantity:
        return Quantity(f"labor of {name}", time.value * rate.value, "money", "attended time x rate", (time, rate))

    first = [a.cost for a in plan.amounts] + [labor("the first mold", attended)]
    remake = [_shared(a.cost, a.remake) for a in plan.amounts if a.remake] + [labor("a remake", again)]
    master = _master("a master casting", "cost of one casting", casting["cost"], plan)
    if plan.cavities > 1:
        more = float(plan.cavities - 1)
        words = "a master casting for each further cavity"
        first.append(Quantity("master castings", master.value * more, "money", words, (master,)))
    if not pattern.survives:
        remake.append(replace(master, formula="the pattern is lost: a master casting takes its place"))
    return _sum("cost of the first mold", first), _sum("cost of a remake", remake)


def pours_for(case: Case, cavities: int, run: Any) -> Any:
    """Return the pours a run takes: run / (yield x cavities), up."""
    pours = np.ceil(np.asarray(run) / (case.good_share * cavities) - 1e-9)
    return np.maximum(1, pours).astype(np.int64)[()]
