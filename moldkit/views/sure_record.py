"""How sure a comparison is as one plain object, for scripts."""

from __future__ import annotations

from typing import Any

import numpy as np

from moldkit.study.uncertainty.decision import Worth
from moldkit.study.uncertainty.spread import Spread, Turn
from moldkit.study.uncertainty.switching import Flip, Switch
from moldkit.views.how_sure import HowSure


def sure_record(sure: HowSure) -> dict[str, Any]:
    """Return how sure a comparison is, keys ending in their unit; shares 0 to 1 of the draws, money as the record's."""
    spread = sure.spread
    decision, draws = spread.decision, spread.draws
    return {
        "draws": draws.count,
        "points": draws.points,
        "seed": draws.seed,
        "techniques": [_technique(spread, place) for place in range(len(spread.techniques))],
        "nothing_works_share": spread.totals.nothing,
        "least_expected_cost": None if decision.choice is None else spread.techniques[decision.choice],
        "worth_of_knowing_all": decision.worth_of_all,
        "worth": [_worth(each) for each in decision.worth if each.money > 0.0],
        "crossings": [_crossing(spread, turn) for turn in spread.turns],
        "switching_values": [
            _flip(switch, flip) for switch in sure.switches for flip in (switch.below, switch.above) if flip
        ],
    }


def _technique(spread: Spread, place: int) -> dict[str, Any]:
    decision = spread.decision
    at = int(np.searchsorted(spread.runs, spread.run))
    low, middle, high = spread.bands[:, place, at]
    return {
        "technique": spread.techniques[place],
        "cheapest_share": float(decision.chance[place]),
        "near_share": float(decision.near[place]),
        "works_share": float(decision.works[place]),
        "cost_p10": _or_null(low),
        "cost_p50": _or_null(middle),
        "cost_p90": _or_null(high),
        "expected_cost": _or_null(decision.cost[place]),
        "expected_regret": _or_null(decision.regret[place]),
    }


def _or_null(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _worth(each: Worth) -> dict[str, Any]:
    return {"figure": each.name, "kind": each.kind, "money": each.money}


def _crossing(spread: Spread, turn: Turn) -> dict[str, Any]:
    low, middle, high = (int(run) for run in turn.runs)
    names = {"from": spread.techniques[turn.before], "to": spread.techniques[turn.after]}
    return {**names, "share": turn.share, "run_p10": low, "run_p50": middle, "run_p90": high}


def _flip(switch: Switch, flip: Flip) -> dict[str, Any]:
    return {
        "figure": switch.name,
        "kind": switch.kind,
        "factor": flip.factor,
        "cheapest": flip.technique,
        "share_so_far_off": flip.share,
    }
