"""The colour arithmetic against the published figures and against an independent library.

Sources: WCAG 2.1 contrast ratio (figures also given by the library wcag-contrast-ratio); Sharma, Wu and Dalal
2005, Table 1; Machado, Oliveira and Fernandes 2009, severity 1.0. Oracle: colour-science.
"""

import random
import warnings
from itertools import pairwise

import numpy as np
import pytest

from shared.look import colour as look
from shared.look.colour import MACHADO, Deficiency

with warnings.catch_warnings():
    # It warns on import that its plotting half is missing; no plot is made here.
    warnings.simplefilter("ignore")
    import colour as oracle

WCAG = [
    ("#000000", "#FFFFFF", 21.0),
    ("#777777", "#FFFFFF", 4.4781),
    ("#767676", "#FFFFFF", 4.5422),
    ("#949494", "#FFFFFF", 3.0335),
    ("#FF0000", "#FFFFFF", 3.9985),
    ("#FF0000", "#000000", 5.2520),
    ("#FFFF00", "#000000", 19.5560),
    ("#00FFFF", "#000000", 16.7480),
    ("#D32F2F", "#101418", 3.7149),
]
SHARMA = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, 0, 0), (50, -1, 2), 2.3669),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0009), 7.1792),
    ((50, 2.4900, -0.0010), (50, -2.4900, 0.0011), 7.2195),
    ((50, 2.5, 0), (50, 0, -2.5), 4.3065),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]
Lab = tuple[float, float, float]


def some_colours(count: int) -> list[str]:
    """A fixed spread of colours over the whole cube."""
    dice = random.Random(2009)
    return [f"#{dice.randrange(0x1000000):06X}" for _ in range(count)]


@pytest.mark.parametrize(("first", "second", "ratio"), WCAG)
def test_that_contrast_is_that_of_wcag(first: str, second: str, ratio: float) -> None:
    assert look.contrast(first, second) == pytest.approx(ratio, abs=5e-5)
    assert look.contrast(second, first) == look.contrast(first, second)


def test_that_777777_fails_as_text_where_767676_passes() -> None:
    assert look.contrast("#777777", "#FFFFFF") < 4.5 <= look.contrast("#767676", "#FFFFFF")


@pytest.mark.parametrize(("one", "two", "expected"), SHARMA)
def test_that_ciede2000_is_that_of_sharma_table_1(one: Lab, two: Lab, expected: float) -> None:
    assert look.ciede2000(one, two) == pytest.approx(expected, abs=1e-4)
    assert look.ciede2000(two, one) == pytest.approx(expected, abs=1e-4)


def test_that_linear_red_becomes_the_first_column_for_protan_eyes() -> None:
    seen = look.deficient((1.0, 0.0, 0.0), Deficiency.PROTAN)
    assert seen == pytest.approx((0.152286, 0.114503, -0.003882), abs=1e-9)
    assert look.to_srgb(seen) == pytest.approx((0.42661, 0.37265, -0.05016), abs=1e-5)
    assert look.as_seen("#FF0000", Deficiency.PROTAN) == "#6D5F00"


@pytest.mark.parametrize("kind", list(Deficiency))
def test_that_greys_stay_grey_for_every_deficiency(kind: Deficiency) -> None:
    for row in MACHADO[kind]:
        assert sum(row) == pytest.approx(1.0, abs=2e-6)
    for grey in ("#000000", "#373737", "#808080", "#FFFFFF"):
        assert look.as_seen(grey, kind) == grey


@pytest.mark.parametrize("kind", list(Deficiency))
def test_that_the_deficiency_matrix_is_that_of_the_oracle(kind: Deficiency) -> None:
    table = oracle.CVD_MATRICES_MACHADO2010[
        {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}[kind]
    ]
    np.testing.assert_allclose(np.array(MACHADO[kind]), table[1.0], atol=1e-6)


def test_that_linear_light_is_that_of_the_oracle() -> None:
    for hex_colour in some_colours(64):
        srgb = look.channels(hex_colour)
        np.testing.assert_allclose(look.to_linear(srgb), oracle.models.eotf_sRGB(np.array(srgb)), atol=1e-9)
        assert look.to_srgb(look.to_linear(srgb)) == pytest.approx(srgb, abs=1e-6)


def test_that_lab_is_that_of_the_oracle() -> None:
    """Two ways of rounding the D65 white differ by less than 0.03 of a unit."""
    for hex_colour in some_colours(64):
        xyz = oracle.sRGB_to_XYZ(np.array(look.channels(hex_colour)))
        np.testing.assert_allclose(look.lab(hex_colour), oracle.XYZ_to_Lab(xyz), atol=0.03)


def test_that_ciede2000_is_that_of_the_oracle_over_the_whole_cube() -> None:
    shades = [look.lab(c) for c in some_colours(120)]
    for one, two in pairwise(shades):
        expected = oracle.difference.delta_E_CIE2000(np.array(one), np.array(two))
        assert look.ciede2000(one, two) == pytest.approx(float(expected), abs=1e-4)


@pytest.mark.parametrize("text", ["", "#FFF", "FFFFFF", "#GGGGGG", "#12345", "#1234567", "#12_456", "# 12345"])
def test_that_other_forms_of_colour_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="#RRGGBB"):
        look.channels(text)
