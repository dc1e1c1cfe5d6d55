"""Which figure would flip it: changes to a case, tried one by one, of which one turns the answer."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from moldkit.lessons.build import choice
from moldkit.lessons.cases import Brought, Verdict, changed, totals, verdict
from moldkit.lessons.exercise import FLIP
from moldkit.lessons.problem import Pick, Slip
from moldkit.study.compare import TOSS_UP


@dataclass(frozen=True)
class Change:
    """One thing changed about a case: in words, and the case with it; small: one that hardly moves a total."""

    words: str
    other: Mapping[str, Any]
    small: bool = False


def what_flips(
    draw: random.Random, base: Brought, names: Sequence[str], changes: Sequence[Change], hint: str
) -> Pick | None:
    """Return a problem that asks which change makes another technique the cheapest; None for a toss-up anywhere.

    One change flips the verdict, three do not; each verdict is clear by more than a toss-up.
    """
    now = verdict(base, names)
    if now is None or not now.clear:
        return None
    large = [change for change in changes if not change.small]
    flips: list[tuple[Change, Brought, Verdict]] = []
    stays: dict[str, str] = {}
    for change in (*draw.sample(large, len(large)), *(change for change in changes if change.small)):
        if (change.small and not flips) or (flips and len(stays) == 3):
            break
        case = changed(base, **change.other)
        then = verdict(case, names)
        if then is None or then.margin <= TOSS_UP:
            continue
        if then.best == now.best:
            stays[change.words] = f"The {now.best} stays the cheapest then, by {then.margin:.0%}."
        elif not flips:
            flips.append((change, case, then))
    if not flips or len(stays) < 3:
        return None
    change, case, then = flips[0]
    wrong = {words: Slip("does not flip it", stays[words], hint) for words in list(stays)[:3]}
    said = f"The {then.best} is the cheapest then: the {then.next} costs {then.margin:.0%} more."
    one_of = " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]
    question = (
        f"{base.order_words} Of {one_of}, the {now.best} costs the least over the run. "
        "Which one of these changes would flip that?"
    )
    return choice(draw, question, hint, (change.words, said), wrong, totals(case, names), kind=FLIP)


def why_stopped(case: Brought, technique: str) -> str:
    """Return why a technique is ruled out, in words; empty where it is not."""
    return next((f.reason for f in case.outcome(technique).findings() if f.level == "stop"), "")


def what_stops(
    draw: random.Random, case: Brought, technique: str, changes: Mapping[str, Mapping[str, Any]], told: str = ""
) -> Pick | None:
    """Return a problem that asks which change would rule a technique out; None where none does, or nearly all do.

    changes: words -> what of the case is changed; told: what else the question gives.
    """
    cases = {words: changed(case, **other) for words, other in changes.items()}
    stops = [words for words in cases if cases[words].outcome(technique).stop_at()]
    stays = [words for words in cases if words not in stops]
    if case.outcome(technique).stop_at() or not stops or len(stays) < 3:
        return None
    right = draw.choice(stops)
    hint = "Ask of each one: can the mold still be built, and can it stand what the casting asks of it?"
    wrong = {
        words: Slip("does not flip it", f"The {technique} can still be used then.", hint)
        for words in draw.sample(stays, 3)
    }
    question = (
        f"{case.order_words} {told}A {technique} can be used for it. Which one of these changes would rule that out?"
    )
    figure = cases[right].outcome(technique).plan["mold_mass"]
    return choice(draw, question, hint, (right, why_stopped(cases[right], technique)), wrong, (figure,), kind=FLIP)
