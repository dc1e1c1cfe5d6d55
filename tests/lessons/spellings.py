"""A figure written as different people write it: other units, other spellings of number and unit."""

from __future__ import annotations

from fractions import Fraction

from moldkit.lessons.problem import COUNT, MONEY, RATIO, Numeric
from moldkit.units import ACCEPTED, from_si

# How units are written out, beside the kit's own words.
WRITTEN_OUT = {"kg": "kilograms", "g": "grams", "lb": "lbs", "L": "liters", "mm": "millimeters", "in": "inches",
               "min": "minutes", "h": "hrs", "mL": "ml", "oz": "ounces", "gal": "gallons"}  # fmt: skip
# A fraction may be off by this share and still be a fair spelling of the figure.
FAIR = 0.002


def spelt(problem: Numeric, currency: str) -> list[str]:
    """Return ways of writing the right figure, each of which must be taken as right."""
    value, unit = problem.figure.at(0), problem.unit
    if problem.dimension == COUNT:
        whole = round(value)
        return [f"{whole}", f" {whole} {unit}", f"{whole}.0", f"{whole:.3e}", f"{whole:,}".replace(",", " ")]
    if problem.dimension == MONEY:
        grouped = f"{value:,.2f}".replace(",", "\u202f")
        return [f"{value:.2f}", f"{value:.6g} {currency}", f"${value:.2f}", f"{currency} {value:.2f}", grouped,
                f"about {value:.5g}"]  # fmt: skip
    if problem.dimension == RATIO:
        return [f"{value:.4f}", f"{value:.4g} times", f"{value:.4g}x", f"{value:.3e}", f"= {value:.4g}"]
    return list(_with_units(value, problem.dimension, unit))


def _with_units(value: float, dimension: str, unit: str) -> list[str]:
    found = [f"{float(from_si(value, each)):.6g} {each}" for each in ACCEPTED[dimension]]
    number = float(from_si(value, unit))
    found += [f"{number:.5f}{unit}", f"  +{number:.4e} {unit} ", f"{number:.6g}   {unit}", f"~{number:.5g} {unit}"]
    found += [f"{float(from_si(value, each)):.6g} {word}" for each, word in WRITTEN_OUT.items()
              if each in ACCEPTED[dimension]]  # fmt: skip
    small = Fraction(number).limit_denominator(64)
    if small > 0 and small.denominator > 1 and abs(float(small) / number - 1) < FAIR:
        whole, rest = divmod(small.numerator, small.denominator)
        found.append(f"{f'{whole} ' if whole else ''}{rest}/{small.denominator} {unit}")
    return found
