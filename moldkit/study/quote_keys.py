"""The keys of a quote in a shop's file and in a job's [quote], checked, the job's laid over the shop's."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from moldkit.economics.cents import MILLIONTHS, step_in_cents
from moldkit.errors import InputError, unknown
from moldkit.shop import shop_values
from moldkit.tables import Row

# Ways to say the profit: the markup has an older name. A job that names one of a group replaces the shop's.
PROFIT = ("markup", "margin_on_price", "target_rate", "client_margin")
OVERHEAD = ("overhead", "overhead_rate")
FINISH = ("finish", "finish_time", "finish_cost")
QUOTE_KEYS = (
    *PROFIT[:3], *OVERHEAD, "minimum_charge", "tooling", "price_breaks", "valid_days", "tax", "tax_label", "rounding",
    "mold_owner", *FINISH,
)  # fmt: skip


def check_quote(given: Mapping[str, Any], where: str) -> None:
    """Check a job's [quote]; raises InputError naming the key, the value and the mend for the first fault."""
    _checked(given, where)


def _checked(given: Mapping[str, Any], where: str) -> dict[str, Any]:
    for key in given:
        if key not in QUOTE_KEYS:
            raise unknown("key", key, QUOTE_KEYS, where)
    found = shop_values(given, where) if given else {}
    for group in (PROFIT, OVERHEAD):
        _only_one(found, group, where)
    _check_whole(found, where)
    return found


def _check_whole(values: Mapping[str, Any], where: str) -> None:
    """Check what is reckoned with as whole castings, cents and millionths."""
    for run in values.get("price_breaks") or ():
        if run != int(run):
            raise InputError(f"{where} price_breaks: {run:g} is not a whole number of castings; round it.")
    if values.get("rounding") is not None:
        try:
            step_in_cents(decimal_of(values, "rounding"))
        except InputError as fault:
            raise InputError(f"{where} {fault}") from None
    tax = decimal_of(values, "tax")
    if tax * MILLIONTHS != int(tax * MILLIONTHS):
        raise InputError(f"{where} tax: {(100 * tax).normalize():f} % has more than four decimals; round it.")


def _only_one(values: Mapping[str, Any], group: tuple[str, ...], where: str) -> None:
    named = [key for key in group if values.get(key) is not None and (group is PROFIT or figure_of(values, key))]
    if len(named) > 1:
        raise InputError(f"{where}: {' and '.join(named)} stand side by side; keep one of them.")


def quote_values(shop: Row, given: Mapping[str, Any], where: str = "[quote]") -> dict[str, Any]:
    """Return the checked figures that a quote is made with: the shop's, with the job's laid over them.

    shop: as it is for the case; given: the job's [quote]. Raises InputError for the first fault.
    """
    own = _checked(given, where)
    values = {key: shop.values.get(key) for key in (*QUOTE_KEYS, "client_margin")}
    for group in (PROFIT, OVERHEAD):
        if any(key in own for key in group):
            values.update(dict.fromkeys(group))
        _only_one(values, group, shop.where)
    values.update(own)
    _check_whole({**shop.values, **own}, shop.where)
    return {key: value for key, value in values.items() if value is not None}


def decimal_of(values: Mapping[str, Any], key: str, usual: str = "0") -> Decimal:
    """Return a figure as the decimal that it was written as; a share has been divided by a hundred."""
    return Decimal(f"{figure_of(values, key):.10g}") if values.get(key) is not None else Decimal(usual)


def figure_of(values: Mapping[str, Any], key: str, usual: float = 0.0) -> float:
    """Return a figure among checked values, in SI units; `usual` where it isn't there."""
    return float(values[key].value) if values.get(key) is not None else usual
