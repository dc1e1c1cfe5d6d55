"""Plaster and concrete: what they weigh as they are poured, and the powder in them, by hand and by stoichiometry."""

from __future__ import annotations

import pytest

from moldkit.loads.wet import bought_of, density_as_poured
from moldkit.quantity import Quantity
from moldkit.study.knowledge import Knowledge
from moldkit.tables import Row

# Density of plaster powder, hemihydrate: handbooks give 2600 to 2750 kg/m3, 2630 for the beta form (from memory).
POWDER, WATER = 2630.0, 998.0


def mix(chemistry: str, density: float, water: float) -> Row:
    values = {
        "chemistry": chemistry,
        "density": Quantity("density", density, "kg/m3"),
        "mix_ratio": Quantity("parts of water", water, "parts"),
    }
    return Row("mix", "made up", values)


# Parts of water, dry density [kg/m3]: Properties of Typical Gypsum Plasters and Cements (glass tips weblog, 2009).
PUBLISHED = [(74, 1057), (70, 1106), (65, 1162)]


@pytest.mark.parametrize(("water", "dry"), PUBLISHED)
def test_a_plaster_mix_is_as_dense_as_its_powder_and_water_without_air(water: float, dry: float) -> None:
    """Another way to the same figure: 100 parts of powder and the water by their own volumes."""
    by_volumes = (100 + water) / (100 / POWDER + water / WATER)
    found = density_as_poured(mix("gypsum", dry, water)).value
    assert found == pytest.approx(by_volumes, rel=0.03)
    # (100 + 70) / 118.62 x 1106 = 1585, by hand
    assert found == pytest.approx(dry * (100 + water) / 118.62, rel=1e-4)


def test_the_powder_of_a_mix_by_hand() -> None:
    """Water 70 to 100: 1.7 kg of mix hold 1 kg of powder. Concrete with 13 to 100: 1.13 kg hold 1 kg."""
    assert bought_of(Quantity("mix", 1.7, "kg"), mix("gypsum", 1106, 70)).value == pytest.approx(1.0)
    assert bought_of(Quantity("mix", 1.13, "kg"), mix("cement", 2250, 13)).value == pytest.approx(1.0)
    assert bought_of(Quantity("mix", 1.9, "kg"), mix("urethane", 1080, 90)).value == 1.9


@pytest.mark.parametrize("water", [65, 70, 74])
def test_a_dry_plaster_casting_weighs_its_powder_and_the_water_bound_in_it(water: float) -> None:
    """100 of hemihydrate bind 1.5 x 18.015 / 145.148 = 18.62 of water, whatever it was mixed with."""
    row, volume, dry = mix("gypsum", 1106, water), 2e-3, 1106.0
    poured = Quantity("mix", volume * density_as_poured(row).value, "kg")
    assert bought_of(poured, row).value == pytest.approx(volume * dry / 1.1862, rel=1e-4)


def test_concrete_and_resin_are_poured_as_dense_as_they_are_sold(knowledge: Knowledge) -> None:
    castings = knowledge.materials.castings
    for name in ("concrete", "rigid urethane resin", "casting wax"):
        assert density_as_poured(castings[name]).value == castings[name].quantity("density").value
    for name in ("gypsum plaster", "gypsum cement", "polymer-modified gypsum"):
        assert density_as_poured(castings[name]).value > 1.1 * castings[name].quantity("density").value
