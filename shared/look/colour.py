"""Published colour arithmetic: sRGB, WCAG contrast, CIE Lab, CIEDE2000 and colour-vision deficiency.

Pure functions on tuples of floats. They exist so that a palette can be proved, not believed.

Sources: sRGB transfer function and matrix IEC 61966-2-1:1999; contrast WCAG 2.1, "relative luminance" and
"contrast ratio"; CIE 1976 L*a*b* with the D65 white of IEC 61966-2-1; CIEDE2000 Sharma, Wu and Dalal,
Color Research and Application 30 (2005) 21; deficiency matrices Machado, Oliveira and Fernandes,
IEEE TVCG 15 (2009) 1291, severity 1.0.
"""

import math
from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType

Triple = tuple[float, float, float]
Matrix = tuple[Triple, Triple, Triple]

_TO_XYZ: Matrix = (
    (0.4124, 0.3576, 0.1805),
    (0.2126, 0.7152, 0.0722),
    (0.0193, 0.1192, 0.9505),
)
_WHITE: Triple = (0.95047, 1.0, 1.08883)


class Deficiency(StrEnum):
    """A dichromacy: which of the three cone kinds is missing."""

    PROTAN = "protan"
    DEUTAN = "deutan"
    TRITAN = "tritan"


MACHADO: Mapping[Deficiency, Matrix] = MappingProxyType(
    {
        Deficiency.PROTAN: (
            (0.152286, 1.052583, -0.204868),
            (0.114503, 0.786281, 0.099216),
            (-0.003882, -0.048116, 1.051998),
        ),
        Deficiency.DEUTAN: (
            (0.367322, 0.860646, -0.227968),
            (0.280085, 0.672501, 0.047413),
            (-0.011820, 0.042940, 0.968881),
        ),
        Deficiency.TRITAN: (
            (1.255528, -0.076749, -0.178779),
            (-0.078411, 0.930809, 0.147602),
            (0.004733, 0.691367, 0.303900),
        ),
    }
)


def channels(hex_colour: str) -> Triple:
    """sRGB in 0..1 of a "#RRGGBB" text. Raises ValueError on any other form."""
    digits = hex_colour[1:]
    if len(hex_colour) != 7 or hex_colour[0] != "#" or not all(c in "0123456789abcdefABCDEF" for c in digits):
        raise ValueError(f"{hex_colour!r} is not a colour of the form #RRGGBB")
    red, green, blue = (int(digits[i : i + 2], 16) / 255.0 for i in (0, 2, 4))
    return red, green, blue


def to_linear(srgb: Triple) -> Triple:
    """Linear light of sRGB in 0..1 (IEC 61966-2-1)."""
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in srgb)
    return red, green, blue


def to_srgb(linear: Triple) -> Triple:
    """sRGB of linear light; nothing is clipped, light below 0 follows the straight foot of the curve."""
    red, green, blue = (_encode(c) for c in linear)
    return red, green, blue


def _encode(c: float) -> float:
    return c * 12.92 if c <= 0.0031308 else float(1.055 * c ** (1 / 2.4) - 0.055)


def luminance(hex_colour: str) -> float:
    """Relative luminance, 0 (black) to 1 (white) (WCAG 2.1)."""
    red, green, blue = to_linear(channels(hex_colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """WCAG contrast ratio of two "#RRGGBB" colours, 1 to 21, in either order."""
    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)


def _times(matrix: Matrix, vector: Triple) -> Triple:
    first, second, third = (sum(m * v for m, v in zip(row, vector, strict=True)) for row in matrix)
    return first, second, third


def deficient(linear: Triple, kind: Deficiency) -> Triple:
    """Linear RGB as a person with this deficiency sees it, unclipped (Machado 2009, severity 1.0)."""
    return _times(MACHADO[kind], linear)


def as_seen(hex_colour: str, kind: Deficiency) -> str:
    """The "#RRGGBB" that shows on an 8-bit screen what a person with this deficiency sees (clipped, rounded)."""
    coded = to_srgb(deficient(to_linear(channels(hex_colour)), kind))
    return "#" + "".join(f"{round(255 * min(1.0, max(0.0, c))):02X}" for c in coded)


def lab_of_linear(linear: Triple) -> Triple:
    """CIE L*a*b* (D65) of linear sRGB light."""
    x, y, z = (_lab_root(v / w) for v, w in zip(_times(_TO_XYZ, linear), _WHITE, strict=True))
    return 116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)


def _lab_root(t: float) -> float:
    return math.cbrt(t) if t > (6 / 29) ** 3 else t * (29 / 6) ** 2 / 3 + 4 / 29


def lab(hex_colour: str) -> Triple:
    """CIE L*a*b* (D65) of a "#RRGGBB" colour."""
    return lab_of_linear(to_linear(channels(hex_colour)))


def difference(first: str, second: str, kind: Deficiency | None = None) -> float:
    """CIEDE2000 between two "#RRGGBB" colours, for normal eyes or as shown by `as_seen` for one deficiency."""
    if kind is not None:
        first, second = as_seen(first, kind), as_seen(second, kind)
    return ciede2000(lab(first), lab(second))


def ciede2000(one: Triple, two: Triple) -> float:
    """CIEDE2000 colour difference of two L*a*b* triples, all weights 1 (Sharma, Wu, Dalal 2005, eq. 2-22)."""
    mean_chroma = (math.hypot(one[1], one[2]) + math.hypot(two[1], two[2])) / 2
    stretch = 1 + 0.5 * (1 - math.sqrt(_seventh(mean_chroma)))
    c1, h1 = _polar(one[1] * stretch, one[2])
    c2, h2 = _polar(two[1] * stretch, two[2])
    d_light, d_chroma = two[0] - one[0], c2 - c1
    d_hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(_hue_step(c1 * c2, h1, h2)) / 2)

    light, chroma = (one[0] + two[0]) / 2, (c1 + c2) / 2
    hue = _hue_mean(c1 * c2, h1, h2)
    s_light = 1 + 0.015 * (light - 50) ** 2 / math.sqrt(20 + (light - 50) ** 2)
    s_chroma = 1 + 0.045 * chroma
    s_hue = 1 + 0.015 * chroma * _hue_weight(hue)
    turn = 30 * math.exp(-(((hue - 275) / 25) ** 2))
    rotation = -math.sin(math.radians(2 * turn)) * 2 * math.sqrt(_seventh(chroma))
    light_part, chroma_part, hue_part = d_light / s_light, d_chroma / s_chroma, d_hue / s_hue
    return math.sqrt(light_part**2 + chroma_part**2 + hue_part**2 + rotation * chroma_part * hue_part)


def _seventh(chroma: float) -> float:
    return float(chroma**7 / (chroma**7 + 25.0**7))


def _polar(a: float, b: float) -> tuple[float, float]:
    return math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360 if a or b else 0.0


def _hue_step(product: float, h1: float, h2: float) -> float:
    if product == 0:
        return 0.0
    step = h2 - h1
    if step > 180:
        return step - 360
    return step + 360 if step < -180 else step


def _hue_mean(product: float, h1: float, h2: float) -> float:
    total = h1 + h2
    if product == 0:
        return total
    if abs(h1 - h2) <= 180:
        return total / 2
    return (total + 360) / 2 if total < 360 else (total - 360) / 2


def _hue_weight(hue: float) -> float:
    def cosine(degrees: float) -> float:
        return math.cos(math.radians(degrees))

    return (
        1
        - 0.17 * cosine(hue - 30)
        + 0.24 * cosine(2 * hue)
        + 0.32 * cosine(3 * hue + 6)
        - 0.20 * cosine(4 * hue - 63)
    )
