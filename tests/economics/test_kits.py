"""The cheapest kits for an amount: published coin problems, by hand, brute force, an integer programming solver."""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from moldkit.economics.kits import KitPurchase, cheapest_kits, kit_totals
from moldkit.errors import InputError

SIZES = (1.0, 5.0, 20.0)
PRICES = (34.0, 150.0, 560.0)

# ----------------------------------------------------------------------------------------------- published problems


@pytest.mark.parametrize(
    ("sizes", "largest"),
    [
        # Frobenius numbers: 23 for 4 and 9, 43 for 6, 9 and 20 (https://mathworld.wolfram.com/FrobeniusNumber.html,
        # seen); 9665 for 19 and 538 (19 x 538 - 19 - 538, Sylvester's formula, 1884, recomputed).
        ((4, 9), 23),
        ((6, 9, 20), 43),
        ((19, 538), 9665),
    ],
)
def test_at_one_price_a_kilogram_the_largest_amount_with_something_left_over_is_the_frobenius_number(
    sizes: tuple[int, ...], largest: int
) -> None:
    amounts = np.arange(1, 2 * largest + 2)
    _, mass = kit_totals(amounts, sizes, [7.0 * size for size in sizes])
    assert int(amounts[mass > amounts][-1]) == largest


@pytest.mark.parametrize(("a", "b"), [(3, 5), (4, 9), (7, 12), (19, 538)])
def test_half_of_the_amounts_below_sylvesters_bound_leave_something_over(a: int, b: int) -> None:
    # (a - 1)(b - 1) / 2 whole amounts are no sum of a's and b's without a common divisor (Sylvester, 1884; recalled).
    amounts = np.arange(1, a * b)
    _, mass = kit_totals(amounts, (a, b), (float(a), float(b)))
    assert np.count_nonzero(mass > amounts) == (a - 1) * (b - 1) // 2


@pytest.mark.parametrize(
    ("coins", "average"),
    [
        # Average number of coins for the amounts 0 to 99: What This Country Needs Is an 18 c Piece (Mathematical
        # Intelligencer 25, 2003); the figures seen in reports of it.
        ((1, 5, 10, 25), 4.70),
        ((1, 5, 18, 25), 3.89),
        ((1, 5, 18, 29), 3.89),
    ],
)
def test_at_one_price_a_kilogram_the_fewest_kits_are_bought_as_the_fewest_coins_are_given(
    coins: tuple[int, ...], average: float
) -> None:
    counts = [
        sum(n for _, n in cheapest_kits(amount, coins, [float(coin) for coin in coins]).counts) for amount in range(100)
    ]
    assert sum(counts) / 100 == average


# ------------------------------------------------------------------------------------------------------ kits by hand


@pytest.mark.parametrize(
    ("amount", "counts", "cost"),
    [
        (0.0, (), 0.0),
        (0.2, ((1.0, 1),), 34.0),
        (4.0, ((1.0, 4),), 136.0),  # 4 x 34 = 136 < 150
        (4.5, ((5.0, 1),), 150.0),  # 5 x 34 = 170 > 150
        (16.0, ((5.0, 3), (1.0, 1)), 484.0),  # 3 x 150 + 34 = 484 < 560
        (18.5, ((20.0, 1),), 560.0),  # 3 x 150 + 4 x 34 = 586 > 560: the large kit, with 1.5 kg over
        (23.0, ((20.0, 1), (1.0, 3)), 662.0),  # 560 + 3 x 34 = 662 < 560 + 150
        (24.5, ((20.0, 1), (5.0, 1)), 710.0),  # 560 + 150 = 710 < 560 + 5 x 34
    ],
)
def test_kits_of_1_5_and_20_kg_by_hand(amount: float, counts: tuple[tuple[float, int], ...], cost: float) -> None:
    mass = sum(size * n for size, n in counts)
    assert cheapest_kits(amount, SIZES, PRICES) == KitPurchase(counts, mass, cost, mass - amount)


def test_taking_the_largest_kit_first_is_not_always_the_cheapest() -> None:
    # 6 kg of kits of 1, 3 and 4 kg at one price a kilogram: 4 + 1 + 1 by the largest first, 3 + 3 in fewer kits.
    assert cheapest_kits(6.0, (1, 3, 4), (10, 30, 40)).counts == ((3.0, 2),)
    # 8 kg of kits of 5 and 4 kg: 5 + 5 leaves 2 kg for 100, 4 + 4 none for 96.
    assert cheapest_kits(8.0, (4, 5), (48, 50)).counts == ((4.0, 2),)


def test_at_equal_cost_the_least_is_left_over_then_the_fewest_kits_are_bought() -> None:
    assert cheapest_kits(2.0, (2, 3), (10, 10)).counts == ((2.0, 1),)
    assert cheapest_kits(3.0, (1, 2, 3), (10, 20, 30)).counts == ((3.0, 1),)
    # 4 kg for 40: 3 + 1 and 2 + 2 in two kits each, the larger kit going first; 1 x 4 in four.
    assert cheapest_kits(4.0, (1, 2, 3), (10, 20, 30)).counts == ((3.0, 1), (1.0, 1))


@pytest.mark.parametrize("price", [28.333, 10.1, 0.3, 61.7294, 1 / 3])
def test_size_times_one_price_is_a_tie_whatever_the_last_digit_of_the_product(price: float) -> None:
    sizes = (0.6, 3.0, 12.0)
    bought = cheapest_kits(600.0, sizes, [size * price for size in sizes])
    assert bought.counts == ((12.0, 50),)
    assert bought.left_over == 0.0


def test_a_hair_more_than_a_kit_by_rounding_takes_no_second_kit() -> None:
    assert cheapest_kits(20.0 * (1 + 1e-12), SIZES, PRICES).counts == ((20.0, 1),)
    assert cheapest_kits(20.001, SIZES, PRICES).counts == ((20.0, 1), (1.0, 1))


def test_the_words_name_the_kits_the_largest_first() -> None:
    bought = cheapest_kits(46.2, SIZES, PRICES)
    assert bought.words == "2 x 20 kg, 1 x 5 kg and 2 x 1 kg"
    assert bought.words_in("us") == "2 x 44.1 lb, 1 x 11 lb and 2 x 2.2 lb"
    assert cheapest_kits(0.0, SIZES, PRICES).words == "nothing"


def test_what_is_sold_by_area_says_so() -> None:
    assert cheapest_kits(1.2, (0.36, 0.744), (9, 15), unit="m2").words == "2 x 0.744 m²"


# ------------------------------------------------------------------------------------------------------- brute force

TENTHS = st.lists(st.integers(1, 60), min_size=1, max_size=4, unique=True)


@st.composite
def kits(draw: Any) -> tuple[list[int], list[int]]:
    """Sizes in tenths and prices in cents."""
    sizes = draw(TENTHS)
    return sizes, draw(st.lists(st.integers(1, 9_999), min_size=len(sizes), max_size=len(sizes)))


def by_trying(amount: int, sizes: list[int], prices: list[int]) -> tuple[int, int, int]:
    """Return (cost, mass, number) of the best of all combinations, in whole numbers."""
    spans = [range(-(-amount // size) + 1) for size in sizes]
    assume(math.prod(len(span) for span in spans) <= 60_000)
    best = None
    for counts in itertools.product(*spans):
        mass = sum(n * size for n, size in zip(counts, sizes, strict=True))
        if mass >= amount:
            cost = sum(n * price for n, price in zip(counts, prices, strict=True))
            found = (cost, mass, sum(counts))
            best = found if best is None else min(best, found)
    assert best is not None, "all of the largest cover it"
    return best


@given(kits(), st.integers(0, 300))
@settings(max_examples=150)
def test_no_combination_of_all_there_are_is_better(both: tuple[list[int], list[int]], amount: int) -> None:
    sizes, prices = both
    cost, mass, number = by_trying(amount, sizes, prices)
    bought = cheapest_kits(amount / 10, [size / 10 for size in sizes], [price / 100 for price in prices])
    assert bought.cost == pytest.approx(cost / 100)
    assert bought.mass == pytest.approx(mass / 10)
    assert sum(n for _, n in bought.counts) == number


@given(kits())
@settings(max_examples=60)
def test_what_repeats_for_large_amounts_agrees_with_looking_at_each_amount(both: tuple[list[int], list[int]]) -> None:
    sizes, prices = both
    farthest = 2_000
    least = [(0, 0, 0)]
    for amount in range(1, farthest + 1):
        before = [least[max(0, amount - size)] for size in sizes]
        least.append(min((c + p, m + s, n + 1) for (c, m, n), s, p in zip(before, sizes, prices, strict=True)))
    cost, mass = kit_totals(
        np.arange(farthest + 1) / 10, [size / 10 for size in sizes], [price / 100 for price in prices]
    )
    assert cost == pytest.approx(np.array([c for c, _, _ in least]) / 100)
    assert mass == pytest.approx(np.array([m for _, m, _ in least]) / 10)


@pytest.mark.parametrize(
    ("sizes", "prices"),
    [
        ((1.0, 5.0, 20.0), (34.0, 150.0, 560.0)),
        ((1.0, 8.0, 36.0), (14.0, 92.0, 378.0)),
        ((0.6, 3.0, 12.0), (8.5, 38.0, 138.0)),
        ((0.454, 4.54, 18.1, 200.0), (16.0, 139.0, 498.0, 5_050.0)),
        ((0.9, 2.3, 4.0, 7.7, 19.0), (11.0, 25.0, 41.0, 75.0, 170.0)),
    ],
)
@pytest.mark.parametrize("amount", [3.3, 47.9, 613.7, 9_999.4])
def test_an_integer_programming_solver_finds_no_cheaper_kits(
    sizes: tuple[float, ...], prices: tuple[float, ...], amount: float
) -> None:
    # scipy's mixed-integer solver, a general-purpose library: least cost with sizes x counts >= amount.
    from scipy.optimize import Bounds, LinearConstraint, milp

    solved = milp(
        prices, integrality=np.ones(len(sizes)), bounds=Bounds(0, np.inf),
        constraints=LinearConstraint([sizes], lb=amount), options={"mip_rel_gap": 0.0},
    )  # fmt: skip
    assert solved.success
    assert cheapest_kits(amount, sizes, prices).cost == pytest.approx(solved.fun, abs=1e-6)


# -------------------------------------------------------------------------------------------------------------- laws

AMOUNTS = st.floats(0.0, 5_000.0, allow_nan=False)


@given(kits(), AMOUNTS)
def test_the_kits_hold_the_amount_and_none_of_them_could_be_left_out(
    both: tuple[list[int], list[int]], amount: float
) -> None:
    bought = cheapest_kits(amount, [size / 10 for size in both[0]], [price / 100 for price in both[1]])
    assert bought.mass >= amount * (1 - 1e-9)
    assert bought.left_over == pytest.approx(max(0.0, bought.mass - amount))
    if bought.counts:
        assert bought.left_over < min(size for size, _ in bought.counts) * (1 + 1e-9)
    assert [size for size, _ in bought.counts] == sorted((size for size, _ in bought.counts), reverse=True)


@given(kits(), st.lists(AMOUNTS, min_size=2, max_size=20))
def test_more_never_costs_less_and_many_amounts_at_once_cost_what_each_does(
    both: tuple[list[int], list[int]], amounts: list[float]
) -> None:
    sizes, prices = [size / 10 for size in both[0]], [price / 100 for price in both[1]]
    cost, mass = kit_totals(sorted(amounts), sizes, prices)
    assert np.all(np.diff(cost) >= -1e-9)
    singles = [cheapest_kits(amount, sizes, prices) for amount in sorted(amounts)]
    assert cost == pytest.approx([bought.cost for bought in singles])
    assert mass == pytest.approx([bought.mass for bought in singles])


@given(kits(), AMOUNTS, st.sampled_from([2, 10]))
def test_dearer_money_buys_the_same_kits(both: tuple[list[int], list[int]], amount: float, times: int) -> None:
    sizes, prices = [size / 10 for size in both[0]], [price / 100 for price in both[1]]
    dearer = cheapest_kits(amount, sizes, [times * price for price in prices])
    assert dearer.counts == cheapest_kits(amount, sizes, prices).counts


@given(kits(), AMOUNTS)
def test_a_further_size_never_makes_it_dearer(both: tuple[list[int], list[int]], amount: float) -> None:
    sizes, prices = [size / 10 for size in both[0]], [price / 100 for price in both[1]]
    one_more = cheapest_kits(amount, [*sizes, 6.1], [*prices, 55.0])
    assert one_more.cost <= cheapest_kits(amount, sizes, prices).cost + 1e-9


def test_the_order_in_which_sizes_are_given_does_not_matter() -> None:
    assert cheapest_kits(33.0, SIZES[::-1], PRICES[::-1]) == cheapest_kits(33.0, SIZES, PRICES)


def test_thousands_of_tonnes_take_the_kit_of_the_lowest_price_a_kilogram_and_a_few_others() -> None:
    bought = cheapest_kits(5_000_003.0, SIZES, PRICES)
    assert bought.counts == ((20.0, 250_000), (1.0, 3))
    cost, _ = kit_totals(np.array([[3.0, 23.0], [5_000_003.0, 5_000_023.0]]), SIZES, PRICES)
    assert cost.shape == (2, 2)
    assert cost[:, 1] - cost[:, 0] == pytest.approx([560.0, 560.0])


# ------------------------------------------------------------------------------------------------------------ faults


@pytest.mark.parametrize(
    ("amount", "sizes", "prices", "says"),
    [
        (-1.0, SIZES, PRICES, "-1.0 is not an amount; give a number that is not below zero."),
        (math.nan, SIZES, PRICES, "nan is not an amount"),
        (math.inf, SIZES, PRICES, "inf is not an amount"),
        (1.0, (), (), "0 sizes and 0 prices; give at least one size, each its price."),
        (1.0, SIZES, (1.0,), "3 sizes and 1 prices"),
        (1.0, (1.0, 1.0), (1.0, 2.0), "a size stands twice among 1, 1; remove one."),
        (1.0, (0.4536,), (5.0,), "0.4536 is no size of 0.001 to 10000 in whole thousandths; round it."),
        (1.0, (0.0,), (5.0,), "0.0 is no size"),
        (1.0, (1.0,), (0.0,), "0.0 is no price of a kit; give one above zero"),
        (1.0, (1.0,), (math.nan,), "nan is no price"),
    ],
)
def test_what_is_no_amount_size_or_price_is_refused_in_a_sentence(
    amount: float, sizes: tuple[float, ...], prices: tuple[float, ...], says: str
) -> None:
    with pytest.raises(InputError) as refused:
        cheapest_kits(amount, sizes, prices)
    assert says in str(refused.value)


def test_an_array_with_an_amount_below_zero_is_refused() -> None:
    with pytest.raises(InputError, match="an amount is not a number, or below zero"):
        kit_totals([1.0, -0.1], SIZES, PRICES)


def test_sizes_without_a_measure_in_common_serve_small_amounts_and_refuse_only_large_ones() -> None:
    odd = (0.057, 3.001, 24.999, 1000.0)
    prices = [3.0 * size for size in odd]
    assert cheapest_kits(30.0, odd, prices).left_over < 0.057
    with pytest.raises(InputError, match=r"kits of 0\.057, 3\.001, 24\.999, 1000: have no measure in common"):
        cheapest_kits(5_000.0, odd, prices)
