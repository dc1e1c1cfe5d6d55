"""One case assessed: for each technique the plan, the casting, the findings, the life and the costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from moldkit.casting.plan import CastingMaterials, CastingPlan, MoldAtHand
from moldkit.economics.life import Life, life_row, median_life
from moldkit.errors import InputError, unknown
from moldkit.findings.plan import Finding, Raised, Situation, findings_at, raised, stopped
from moldkit.materials import rubber_for, shell_for
from moldkit.pattern.forms import form_mesh
from moldkit.pattern.mesh import load_mesh
from moldkit.pattern.pattern import Pattern
from moldkit.pattern.reading import Reading, read_mesh
from moldkit.quantity import Quantity
from moldkit.shop import with_overrides
from moldkit.study.case import Case, checked_side
from moldkit.study.knowledge import Knowledge, Technique
from moldkit.tables import Row
from moldkit.techniques.plan import Choices, MoldMaterials, MoldPlan
from moldkit.units import System, show

THIN_WALL = 0.004


@dataclass(frozen=True)
class Outcome:
    """What one technique comes to, at one size or an array of sizes.

    stop: whether it is ruled out; life: None where nothing is known of the pair; first, remake, pour: costs of
    the first mold, of a remake and of one pour; cavities: castings a pour gives.
    """

    technique: Technique
    plan: MoldPlan
    casting: CastingPlan
    raised: tuple[tuple[Row, Raised], ...]
    stop: Any
    life: Life | None
    median: Quantity | None
    first: Quantity
    remake: Quantity
    pour: Quantity
    attended_first: Quantity
    attended_remake: Quantity
    elapsed_first: Quantity

    @property
    def name(self) -> str:
        """The technique's name as shown."""
        return self.technique.name

    def stop_at(self, index: int = 0) -> bool:
        """Return whether the technique is ruled out at one size."""
        stop = np.asarray(self.stop)
        return bool(stop.reshape(-1)[index] if stop.ndim else stop)

    def findings(self, index: int = 0, system: System = "metric", currency: str = "") -> tuple[Finding, ...]:
        """Return the findings in words for one size, the gravest first."""
        return findings_at(self.raised, index=index, system=system, currency=currency)


def read_pattern(case: Case, knowledge: Knowledge) -> Reading:
    """Return the reading of the case's mesh or form; raises InputError when it cannot be read."""
    if case.mesh is None:
        assert case.form is not None and case.size is not None, "a case names a mesh or a form with its size"
        return _read_form(case.form, case.size, case.stands_on_base)
    path = mesh_path(case, knowledge.folder).resolve()
    found = path.stat()
    return _read_file(path, found.st_mtime_ns, found.st_size, case.unit or "", case.stands_on_base)


@lru_cache(maxsize=16)
def _read_form(form: str, size: tuple[float, float, float], stands_on_base: bool) -> Reading:
    return read_mesh(form_mesh(form, size), stands_on_base=stands_on_base)


@lru_cache(maxsize=16)
def _read_file(path: Path, changed_ns: int, length: int, unit: str, stands_on_base: bool) -> Reading:
    """Return the reading of a file as it is now: its time of change and its length tell a changed file apart."""
    return read_mesh(load_mesh(path, unit), stands_on_base=stands_on_base)


def mesh_path(case: Case, data: Path) -> Path:
    """Return where the case's mesh lies: in the job's folder first, then in the data folder."""
    given = Path(case.mesh or "")
    places = [given] if given.is_absolute() else [folder / given for folder in (case.folder, data) if folder]
    try:
        found = next((place for place in places if place.exists()), None)
    except OSError as fault:
        raise InputError(
            f"[pattern] mesh: {case.mesh!r} is no usable path ({fault.strerror}); check the name."
        ) from None
    if found is not None:
        return found
    looked = " nor in ".join(repr(str(place.parent)) for place in places)
    raise InputError(f"[pattern] mesh: {case.mesh!r} is neither in {looked}; check the name.")


def scale_of(case: Case, reading: Reading) -> float:
    """Return what the reading's lengths are multiplied by; raises InputError outside 5 mm to 5 m."""
    longest = max(reading.extents)
    if case.longest is None:
        checked_side(longest, "[pattern] the longest side", show(longest, "m"))
        return 1.0
    return float(case.longest / longest)


def pattern_of(case: Case, reading: Reading, scale: Any) -> Pattern:
    """Return the case's pattern at a scale (a number or an array)."""
    return Pattern(
        reading, scale, case.declared_undercut, case.surface, case.sealed, case.survives, case.fixed_in_place,
        case.vertical, case.fragile, case.unique,
    )  # fmt: skip


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
    median, life = _life(setting, rubber)
    first, remake = _mold_costs(setting, pattern, plan, casting)
    chance = 0.0 if life is None else float(life.chances[: pours_for(case, plan.cavities, case.run)].sum())
    situation = Situation(
        row, plan, casting, pattern, setting.surface, rubber, setting.material, setting.method, setting.shop,
        case.release, life is not None, chance,
    )  # fmt: skip
    found = tuple(raised(knowledge.rules, situation))
    attended = _sum("attended time of the first mold", [s.attended for s in plan.steps])
    repeated = [_shared(s.attended, s.remake) for s in plan.steps]
    if not pattern.survives:
        one = casting["attended"]
        repeated.append(
            Quantity("time of a master casting", one.value / plan.cavities, "s", "time of one casting", (one,))
        )
    again = _sum("attended time of a remake", repeated)
    waits = _sum("waits of the first mold", [s.wait for s in plan.steps])
    elapsed = Quantity(
        "elapsed time of the first mold",
        attended.value + waits.value,
        "s",
        "attended time + waits",
        (attended, waits),
    )
    return Outcome(
        technique, plan, casting, found, stopped(found), life, median, first, remake, casting["cost"],
        attended, again, elapsed,
    )  # fmt: skip


def _priced(rubber: Row, price: float | None) -> Row:
    """Return the rubber with the job's own price a kg, where it names one."""
    if price is None:
        return rubber
    own = Quantity("rubber price", price, "money/kg", "from the job", source="the job", low=price, high=price)
    return Row(rubber.name, rubber.where, {**rubber.values, "price": own})


def _casting(setting: Setting, pattern: Pattern, plan: MoldPlan) -> CastingPlan:
    mold = MoldAtHand(plan["pieces"], plan["parting_length"], plan.cavities)
    materials = CastingMaterials(
        setting.material, setting.method, setting.knowledge.materials.supplies, setting.shop, setting.case.wall,
        setting.case.release,
    )  # fmt: skip
    casting: CastingPlan = setting.method_plan(pattern, mold, materials, setting.knowledge.casting_steps)
    return casting


def _life(setting: Setting, rubber: Row) -> tuple[Quantity | None, Life | None]:
    """Return (median, distribution) of the mold life; (None, None) where nothing is known."""
    case = setting.case
    if isinstance(case.life, (int, float)):
        return Quantity("mold life", case.life, "pours", "certain, from the job", source="the job"), Life(
            case.life, 0.0
        )
    row = life_row(setting.knowledge.life, rubber, setting.material)
    own = None
    if case.life is not None:
        low, likely, high = case.life
        own = Quantity("median mold life", likely, "pours", "from the job", source="the job", low=low, high=high)
    wall = case.wall if case.wall is not None else setting.shop.quantity("hollow_wall").value
    thin = setting.method.flag("hollow") and wall < THIN_WALL
    uses = {
        "method": case.method,
        "undercut": case.declared_undercut,
        "wall": "thin" if thin else "full",
        "release": "yes" if case.release else "no",
    }
    median = median_life(setting.knowledge.life, row, own, uses)
    if median is None:
        return None, None
    spread = row.quantity("spread").value if row is not None else 0.3
    return median, Life(max(1.0, float(median.value)), float(spread))


def _sum(name: str, parts: Iterable[Quantity]) -> Quantity:
    listed = tuple(parts)
    return Quantity(name, sum((q.value for q in listed), 0.0), listed[0].unit, "sum of its parts", listed)


def _shared(q: Quantity, share: float) -> Quantity:
    if share == 1.0:
        return q
    return Quantity(f"{q.name}, repeated", q.value * share, q.unit, f"{share:.0%} of it is repeated", (q,))


def _mold_costs(setting: Setting, pattern: Pattern, plan: MoldPlan, casting: CastingPlan) -> tuple[Quantity, Quantity]:
    """Return the cost of the first mold and of a remake: materials + labor, with the master castings they need."""
    rate = setting.shop.quantity("labor_rate")

    def labor(name: str, times: list[Quantity]) -> Quantity:
        attended = _sum(f"attended time of {name}", times)
        return Quantity(
            f"labor of {name}", attended.value * rate.value, "money", "attended time x rate", (attended, rate)
        )

    first = [a.cost for a in plan.amounts] + [labor("the first mold", [s.attended for s in plan.steps])]
    again = [_shared(a.cost, a.remake) for a in plan.amounts if a.remake]
    again += [labor("a remake", [_shared(s.attended, s.remake) for s in plan.steps if s.remake])]
    single = Quantity(
        "a master casting",
        casting["cost"].value / plan.cavities,
        "money",
        "cost of one casting",
        (casting["cost"],),
    )
    if plan.cavities > 1:
        more = float(plan.cavities - 1)
        words = "a master casting for each further cavity"
        first.append(Quantity("master castings", single.value * more, "money", words, (single,)))
    if not pattern.survives:
        again.append(replace(single, formula="the pattern is lost: a master casting takes its place"))
    return _sum("cost of the first mold", first), _sum("cost of a remake", again)


def pours_for(case: Case, cavities: int, run: Any) -> Any:
    """Return the pours a run takes: run / (yield x cavities), up."""
    pours = np.ceil(np.asarray(run) / (case.good_share * cavities) - 1e-9)
    return np.maximum(1, pours).astype(np.int64)[()]
