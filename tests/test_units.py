"""Units at the edges: published conversions, refusals, and figures as a person reads them."""

from __future__ import annotations

import math

import pint
import pytest
import scipy.constants
from hypothesis import given, settings
from hypothesis import strategies as st

from moldkit.errors import InputError
from moldkit.units import (
    ACCEPTED,
    SI,
    System,
    count_text,
    dimension_of,
    from_si,
    money_text,
    number_text,
    parse,
    parse_number,
    show,
    to_si,
)

SP = "\u202f"
MINUS = "\u2212"

# ------------------------------------------------------------------------------------------- published conversions

# (text, dimension, SI value, relative tolerance, source)
CONVERSIONS = [
    ("1 in", "length", 0.0254, 1e-12, "exact: NIST Handbook 44, Appendix C"),
    ('1 "', "length", 0.0254, 1e-12, "exact: NIST Handbook 44, Appendix C"),
    ("1 ft", "length", 0.3048, 1e-12, "exact: NIST Handbook 44, Appendix C"),
    ("1 lb", "mass", 0.45359237, 1e-12, "exact: NIST Handbook 44, Appendix C"),
    ("1 oz", "mass", 0.028349523125, 1e-12, "exact, avoirdupois: NIST Handbook 44, Appendix C"),
    ("1 gal", "volume", 3.785411784e-3, 1e-12, "exact, 231 in3: NIST Handbook 44, Appendix C"),
    ("231 in3", "volume", 3.785411784e-3, 1e-12, "exact: NIST Handbook 44, Appendix C"),
    ("1 fl oz", "volume", 29.5735295625e-6, 1e-12, "exact, US: NIST Handbook 44, Appendix C"),
    ("1 ft3", "volume", 28.316847e-3, 1e-7, "NIST Handbook 44, Appendix C"),
    ("7.480519481 gal", "volume", 28.316846592e-3, 1e-9, "1 ft3: NIST Handbook 44, Appendix C"),
    ("1 psi", "pressure", 6894.757293168361, 1e-9, "NIST SP 811 (2008), Appendix B.8"),
    ("1 inHg", "pressure", 3386.389, 1e-6, "conventional inch of mercury: NIST SP 811, Appendix B.8"),
    ("1 mbar", "pressure", 100.0, 1e-12, "SI"),
    ("29.9213 inHg", "pressure", 101325.0, 1e-5, "1 atm: NIST SP 811, Appendix B.8"),
    ("14.695949 psi", "pressure", 101325.0, 1e-7, "1 atm: NIST SP 811, Appendix B.8"),
    ("10 lb/ft3", "density", 160.1846, 1e-6, "NIST SP 811, Appendix B.8, as quoted by the R package NISTunits"),
    ("62.42796 lb/ft3", "density", 1000.0, 1e-6, "1 g/cm3: from NIST Handbook 44 by division"),
    ("70 degF", "temperature", 294.261111, 1e-8, "(t + 459.67) / 1.8: NIST SP 811, Appendix B.8; 21.111 degC"),
    ("70 °F", "temperature", 294.261111, 1e-8, "the same"),
    ("-40 F", "temperature", 233.15, 1e-12, "-40 degF is -40 degC: SP 811, Appendix B.8"),
    ("0 degC", "temperature", 273.15, 1e-12, "SI Brochure (9th edition, 2019), 2.3.1"),
    ("1 lbf", "force", 4.4482216152605, 1e-12, "NIST SP 811, Appendix B.8"),
    ("1 d", "time", 86400.0, 1e-12, "SI"),
    ("25 N/mm", "tear strength", 25_000.0, 1e-12, "SI prefixes"),
]


@pytest.mark.parametrize(("text", "dimension", "value", "tolerance", "source"), CONVERSIONS)
def test_text_with_a_unit_is_read_as_the_published_factor_says(
    text: str, dimension: str, value: float, tolerance: float, source: str
) -> None:
    assert source
    assert parse(text, dimension, "--skin") == pytest.approx(value, rel=tolerance)


@pytest.mark.parametrize(
    ("unit", "value"),
    [
        ("psi", scipy.constants.psi),
        ("in", scipy.constants.inch),
        ("ft", scipy.constants.foot),
        ("lb", scipy.constants.lb),
        ("oz", scipy.constants.oz),
        ("gal", scipy.constants.gallon_US),
        ("fl oz", scipy.constants.fluid_ounce_US),
        ("lbf", scipy.constants.lbf),
        ("bar", scipy.constants.bar),
        ("min", scipy.constants.minute),
        ("h", scipy.constants.hour),
        ("d", scipy.constants.day),
        ("L", scipy.constants.liter),
    ],
)
def test_factors_equal_scipys_constants(unit: str, value: float) -> None:
    # scipy.constants: an independent table.
    assert to_si(1.0, unit) == pytest.approx(value, rel=1e-12)


def test_an_ounce_of_weight_is_not_a_fluid_ounce() -> None:
    assert dimension_of("oz") == "mass"
    assert dimension_of("fl oz") == "volume"
    with pytest.raises(InputError, match="not a unit of volume"):
        parse("5 oz", "volume", "--rubber")


UNITS = [(dimension, word, name) for dimension, words in ACCEPTED.items() for word, name in words.items()]
REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize(("dimension", "word", "name"), UNITS)
@given(number=st.floats(-1e6, 1e6))
@settings(max_examples=15)
def test_every_unit_goes_to_si_as_pint_takes_it_and_back(dimension: str, word: str, name: str, number: float) -> None:
    base = {"degC": "kelvin", "percent": "dimensionless"}.get(name, REGISTRY.Quantity(1, name).to_base_units().units)
    wanted = REGISTRY.Quantity(number, name).to(base).magnitude
    value = to_si(number, word)
    assert value == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert from_si(value, word) == pytest.approx(number, rel=1e-9, abs=1e-8)


@pytest.mark.parametrize(("dimension", "word"), [(d, w) for d, w, _ in UNITS if w != "-"])
@given(number=st.floats(-1e5, 1e5))
@settings(max_examples=15)
def test_what_is_written_with_a_unit_is_read_back(dimension: str, word: str, number: float) -> None:
    assert parse(f"{number!r} {word}", dimension, "here") == pytest.approx(to_si(number, word), rel=1e-12, abs=1e-300)


@pytest.mark.parametrize("dimension", ACCEPTED)
def test_every_dimension_has_an_si_unit_of_factor_one(dimension: str) -> None:
    unit = SI[dimension]
    if unit in ("N/m", "m3/s"):
        assert unit not in ACCEPTED[dimension]
    else:
        assert to_si(2.5, unit) == 2.5


@pytest.mark.parametrize(
    "text", ["30cm", " 30 cm ", "30.0 cm", "+30 cm", "3e1 cm", "0.3 m", "300 mm", ".3 m", "300. mm"]
)
def test_a_length_may_be_written_in_several_ways(text: str) -> None:
    assert parse(text, "length", "longest") == pytest.approx(0.3, rel=1e-12)


# --------------------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("1,5 mm", "length", ["'1,5 mm'", "comma", "1.5 mm"]),
        ("1 ton", "mass", ["'ton'", "unit of mass", "kg"]),
        ("9**9**2 mm", "length", ["'**9**2 mm'", "unit of length"]),
        ("3 * 4 mm", "length", ["'* 4 mm'", "unit of length"]),
        ("30", "length", ["'30'", "no unit", "'30 mm'"]),
        (30, "length", ["30", "no unit", "'30 mm'"]),
        (0.3, "length", ["0.3", "no unit", "'0.3 mm'"]),
        (True, "length", ["True", "not a number with a unit"]),
        ("10 kg", "length", ["'kg'", "unit of length", "mm, cm, m"]),
        ("10 MM", "length", ["'MM'", "unit of length"]),
        ("inf mm", "length", ["'inf mm'", "not a number with a unit", "'10 mm'"]),
        ("nan mm", "length", ["'nan mm'", "not a number with a unit"]),
        ("1e999 mm", "length", ["'1e999 mm'", "finite"]),
        ("mm 3", "length", ["'mm 3'", "not a number with a unit"]),
        ("", "length", ["''", "not a number with a unit"]),
        ("3 mm 4", "length", ["'mm 4'"]),
        ("1 000 mm", "length", ["'000 mm'"]),
        (None, "length", ["None"]),
        (["3 mm"], "length", ["3 mm"]),
    ],
)
def test_text_that_is_no_figure_with_a_unit_is_refused_with_its_place_and_mend(
    text: object, dimension: str, says: list[str]
) -> None:
    with pytest.raises(InputError) as refused:
        parse(text, dimension, "finial.toml [mold] skin")
    sentence = str(refused.value)
    assert sentence.startswith("finial.toml [mold] skin: ")
    assert sentence.endswith((".", "'"))
    for words in says:
        assert words in sentence


@pytest.mark.parametrize(
    ("given_text", "says"),
    [
        ("1,5", ["comma", "1.5"]),
        ("12 kg", ["'12 kg'", "not a number"]),
        ("nan", ["not a number"]),
        (math.inf, ["finite"]),
        (math.nan, ["finite"]),
        pytest.param(10**400, ["many digits", "finite"], id="four hundred digits"),
        ("1e999", ["finite"]),
        (True, ["True"]),
        ("", ["''", "not a number"]),
        ([1], ["not a number"]),
    ],
)
def test_text_that_is_no_number_is_refused(given_text: object, says: list[str]) -> None:
    with pytest.raises(InputError) as refused:
        parse_number(given_text, "shop.toml print_speed")
    for words in ["shop.toml print_speed: ", *says]:
        assert words in str(refused.value)


@pytest.mark.parametrize(("unit", "near"), [("mmm", "mm"), ("kgs", "kg"), ("psig", "psi")])
def test_an_unknown_unit_names_the_nearest_one(unit: str, near: str) -> None:
    with pytest.raises(InputError, match=f"'{unit}'; did you mean '{near}'"):
        dimension_of(unit)


# -------------------------------------------------------------------------------------------- figures as people read


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (1.0, "1"),
        (1.5, "1.5"),
        (0.1 + 0.2, "0.3"),
        (2.999, "3"),
        (12.345, "12.3"),
        (99.94, "99.9"),
        (99.96, "100"),
        (100.4, "100"),
        (999.4, "999"),
        (999.6, f"1{SP}000"),
        (1234.0, f"1{SP}230"),
        (9999.0, f"10{SP}000"),
        (1234567.0, f"1{SP}230{SP}000"),
        (0.012345, "0.0123"),
        (0.0009996, "0.001"),
        (9.996, "10"),
        (-1234.0, f"{MINUS}1{SP}230"),
        (-0.5, f"{MINUS}0.5"),
        (1e-9, "0.000000001"),
        (math.nan, "no figure"),
        (math.inf, "without end"),
    ],
)
def test_a_number_has_three_digits_thin_spaces_and_a_point(value: float, text: str) -> None:
    assert number_text(value) == text


@given(st.floats(1e-6, 1e12))
def test_a_number_as_shown_is_within_half_of_its_third_digit(value: float) -> None:
    shown = float(number_text(value).replace(SP, ""))
    assert shown == pytest.approx(value, rel=0.0050001)
    assert len(number_text(value).replace(SP, "").replace(".", "").strip("0")) <= 3


@pytest.mark.parametrize(
    ("value", "text"),
    [(1, "1"), (999, "999"), (1234, f"1{SP}234"), (100_000, f"100{SP}000"), (1234567, f"1{SP}234{SP}567")],
)
def test_a_count_is_never_rounded(value: int, text: str) -> None:
    assert count_text(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0.00"),
        (3.14159, "3.14"),
        (99.99, "99.99"),
        (99.996, "100"),
        (1234.56, f"1{SP}235"),
        (-12.5, f"{MINUS}12.50"),
        (-0.001, "0.00"),
        (-4321.0, f"{MINUS}4{SP}321"),
    ],
)
def test_money_has_cents_below_a_hundred(value: float, text: str) -> None:
    assert money_text(value) == text
    assert money_text(value, "USD") == f"{text} USD"


@pytest.mark.parametrize(
    ("value", "unit", "system", "text"),
    [
        (0.2, "m", "metric", "200 mm"),
        (0.0098, "m", "metric", "9.8 mm"),
        (1.25, "m", "metric", "1.25 m"),
        (0.254, "m", "us", "10 in"),
        (3.048, "m", "us", "10 ft"),
        (0.2, "m2", "metric", "0.2 m²"),
        (0.05, "m2", "metric", "500 cm²"),
        (0.0028, "m3", "metric", "2.8 L"),
        (0.0005, "m3", "metric", "500 mL"),
        (0.003785411784, "m3", "us", "1 gal"),
        (19.0, "kg", "metric", "19 kg"),
        (0.25, "kg", "metric", "250 g"),
        (0.45359237 * 2.5, "kg", "us", "2.5 lb"),
        (7200.0, "s", "metric", "2 h"),
        (1800.0, "s", "metric", "30 min"),
        (30.0, "s", "metric", "30 s"),
        (275_000.0, "Pa", "metric", "275 kPa"),
        (275_790.29, "Pa", "us", "40 psi"),
        (294.261111, "K", "metric", "21.1 °C"),
        (294.261111, "K", "us", "70 °F"),
        (6000.0, "N", "metric", "6 kN"),
        (1080.0, "kg/m3", "metric", f"1{SP}080 kg/m³"),
        (12e-9, "m3/s", "metric", "12 mm³/s"),
        (25e3, "N/m", "metric", "25 kN/m"),
        (0.125, "share", "metric", "12.5 %"),
        (40.0 / 3600.0, "money/s", "metric", "40.00 USD an hour"),
        (28.0, "money/kg", "metric", "28.00 USD a kg"),
        (1234.5, "money", "metric", f"1{SP}234 USD"),
        (1.0, "pieces", "metric", "1 piece"),
        (2.0, "pieces", "metric", "2 pieces"),
        (38.25, "pours", "metric", "38.2 pours"),
        (4.0, "1", "metric", "4"),
        (25.0, "Shore A", "metric", "25 Shore A"),
    ],
)
def test_a_figure_is_shown_in_a_handy_unit(value: float, unit: str, system: System, text: str) -> None:
    assert show(value, unit, system, "USD") == text


@given(st.floats(1e-4, 4.0), st.sampled_from(["m", "m2", "m3", "kg"]), st.sampled_from(["metric", "us"]))
def test_a_figure_as_shown_can_be_written_back(value: float, unit: str, system: System) -> None:
    dimension = next(d for d, u in SI.items() if u == unit)
    shown = show(value, unit, system).replace(SP, "").replace("²", "2").replace("³", "3")
    assert parse(shown, dimension, "here") == pytest.approx(value, rel=0.0051)
