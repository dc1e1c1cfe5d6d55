"""The terms of a quote: the shop's, with what a job's [quote] says laid over them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from moldkit.economics.quote import NO_PROFIT_GIVEN, SHOP, SPREAD, Terms
from moldkit.errors import InputError
from moldkit.study.quote_keys import PROFIT, figure_of, quote_values
from moldkit.tables import Row


def terms_of(shop: Row, given: Mapping[str, Any], where: str = "[quote]") -> Terms:
    """Return the terms of a quote; `shop` and `given` as for `quote_values`, which see. Raises InputError."""
    values = quote_values(shop, given, where)
    if not any(key in values for key in PROFIT):
        raise InputError(f"{shop.where}: says no profit for a quote; {NO_PROFIT_GIVEN}.")
    return Terms(
        overhead=figure_of(values, "overhead"),
        overhead_rate=figure_of(values, "overhead_rate"),
        markup=_optional(values, "markup" if "markup" in values else "client_margin"),
        margin=_optional(values, "margin_on_price"),
        target_rate=_optional(values, "target_rate"),
        minimum_charge=_decimal(values, "minimum_charge", "0"),
        tooling=str(values.get("tooling", SPREAD)),
        price_breaks=_runs(values.get("price_breaks", ()), where),
        valid_days=int(figure_of(values, "valid_days", 30.0)),
        tax=_decimal(values, "tax", "0"),
        tax_label=str(values.get("tax_label", "tax")),
        currency=shop.text("currency"),
        rounding=_decimal(values, "rounding", "0.01"),
        mold_owner=str(values.get("mold_owner", SHOP)),
    )


def _optional(values: Mapping[str, Any], key: str) -> float | None:
    return figure_of(values, key) if key in values else None


def _decimal(values: Mapping[str, Any], key: str, usual: str) -> Decimal:
    """Return a figure as the decimal that it was written as; a share has been divided by a hundred."""
    return Decimal(f"{figure_of(values, key):.10g}") if key in values else Decimal(usual)


def _runs(given: tuple[float, ...], where: str) -> tuple[int, ...]:
    for run in given:
        if run != int(run):
            raise InputError(f"{where} price_breaks: {run:g} is not a whole number of castings; round it.")
    return tuple(sorted({int(run) for run in given}))
