"""Viscosity and density of blood."""

import pytest

from shared.physics import blood

# Source: log10 mu = 0.01138 Hct + 0.03699, fit to Lichtman 1982/87 at 37 C.
LICHTMAN = [(20, 1.83904), (25, 2.09648), (30, 2.38996), (35, 2.72452), (40, 3.10592), (45, 3.54071)]


@pytest.mark.parametrize(("haematocrit", "expected"), LICHTMAN)
def test_that_viscosity_follows_the_fit_to_lichtman(haematocrit: float, expected: float) -> None:
    assert blood.viscosity(haematocrit) == pytest.approx(expected, abs=1e-4)
    assert blood.haematocrit_of(expected) == pytest.approx(haematocrit, abs=1e-3)


@pytest.mark.parametrize(("haematocrit", "measured"), [(30, 1.79), (40, 2.29)])
def test_that_a_second_data_set_lies_within_the_stated_width(haematocrit: float, measured: float) -> None:
    # Source: Pirofsky, lower than Lichtman; the docstring states +/- 30 %.
    assert measured == pytest.approx(blood.viscosity(haematocrit), rel=0.30)


@pytest.mark.parametrize(("temperature", "expected"), [(37, 3.00), (34, 3.18), (30, 3.42)])
def test_that_cooling_thickens_blood_by_two_per_cent_a_degree(temperature: float, expected: float) -> None:
    # Source: from memory.
    assert blood.viscosity_at(3.0, temperature) == pytest.approx(expected, abs=5e-3)


@pytest.mark.parametrize(("temperature", "expected"), [(37, 0.690398), (30, 0.797232)])
def test_that_water_follows_its_published_fit(temperature: float, expected: float) -> None:
    # Source: 2.414e-5 * 10^(247.8 / (T - 140)) Pa s, recomputed.
    assert blood.water_viscosity(temperature) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("share", "expected"), [(0.25, 1042.5), (0.30, 1046), (0.40, 1053), (0.45, 1056.5)])
def test_that_density_mixes_plasma_and_cells(share: float, expected: float) -> None:
    # Source: 1025 and 1095 kg/m3, from memory.
    assert blood.density(share) == pytest.approx(expected)


def test_that_density_lies_within_one_per_cent_of_measured_blood() -> None:
    # Source: Trudnowski and Rico 1974: whole blood 1.0506, plasma 1.0205 at 37 C, relative to water at 4 C.
    assert blood.density(0.42) == pytest.approx(1050.6, rel=0.01)
    assert blood.density(0.0) == pytest.approx(1020.5, rel=0.01)
