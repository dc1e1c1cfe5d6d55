"""Money in whole cents: the vectorised rounding is decimal arithmetic's half up, to the cent."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from moldkit.economics.cents import MOST_CENTS, in_cents, share_of, step_in_cents
from moldkit.errors import InputError

STEPS = ("0.01", "0.05", "0.1", "0.25", "0.5", "1", "5", "10")


def in_decimal(amount: Decimal, step: Decimal) -> int:
    """Half up in decimal arithmetic; outside opinion: Python's decimal module."""
    return int((amount / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step * 100)


@given(millionths=st.lists(st.integers(0, 10**13), min_size=1, max_size=20), step=st.sampled_from(STEPS))
def test_rounding_is_half_up_of_the_decimal_figure(millionths: list[int], step: str) -> None:
    amounts = [Decimal(whole).scaleb(-6) for whole in millionths]
    found = in_cents(np.array([float(a) for a in amounts]), step_in_cents(Decimal(step)))
    assert found.tolist() == [in_decimal(a, Decimal(step)) for a in amounts]


# Figures that no float holds, and that `round` takes down.
@pytest.mark.parametrize(("money", "cents"), [(2.675, 268), (1.005, 101), (0.285, 29), (1.115, 112)])
def test_a_half_cent_goes_up_though_the_float_lies_below_it(money: float, cents: int) -> None:
    assert Decimal(money) < Decimal(str(money))
    assert in_cents(money) == cents
    assert round(100 * round(money, 2)) == cents - 1


def test_the_last_digits_of_a_float_sum_change_nothing() -> None:
    assert in_cents(sum([0.1] * 3) * 10 + 0.005) == in_cents(3.005) == 301
    assert in_cents(np.nextafter(3.005, 0)) == in_cents(np.nextafter(3.005, 4)) == 301


@given(cents=st.integers(0, 10**11), tax=st.integers(0, 500_000))
def test_a_tax_is_half_up_to_the_cent(cents: int, tax: int) -> None:
    wanted = (Decimal(cents) * tax / 1_000_000).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    assert int(share_of(cents, tax)) == int(wanted)


def test_beyond_what_can_be_told_to_the_cent_a_sentence_says_so() -> None:
    assert share_of(MOST_CENTS, 1_000_000) == MOST_CENTS
    with pytest.raises(InputError, match="beyond 40 thousand million; check the rates"):
        share_of(MOST_CENTS + 1, 1)
    for money in (MOST_CENTS / 99, float("inf"), float("nan")):
        with pytest.raises(InputError, match="beyond 40 thousand million"):
            in_cents(np.array([1.0, money]))


@pytest.mark.parametrize("step", ["0", "0.001", "0.015", "250", "-1"])
def test_a_step_is_of_whole_cents(step: str) -> None:
    with pytest.raises(InputError, match=r"rounding: .* is no step of whole cents"):
        step_in_cents(Decimal(step))
