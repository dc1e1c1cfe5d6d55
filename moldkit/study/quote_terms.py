"""The terms of a quote: the shop's, with what a job's [quote] says laid over them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from moldkit.economics.quote import NO_PROFIT_GIVEN, SHOP, SPREAD, Terms
from moldkit.errors import InputError
from moldkit.study.quote_keys import PROFIT, decimal_of, figure_of, quote_values
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
        minimum_charge=decimal_of(values, "minimum_charge"),
        tooling=str(values.get("tooling", SPREAD)),
        price_breaks=tuple(sorted({int(run) for run in values.get("price_breaks", ())})),
        valid_days=int(figure_of(values, "valid_days", 30.0)),
        tax=decimal_of(values, "tax"),
        tax_label=str(values.get("tax_label", "tax")),
        currency=shop.text("currency"),
        rounding=decimal_of(values, "rounding", "0.01"),
        mold_owner=str(values.get("mold_owner", SHOP)),
    )


def _optional(values: Mapping[str, Any], key: str) -> float | None:
    return figure_of(values, key) if key in values else None
