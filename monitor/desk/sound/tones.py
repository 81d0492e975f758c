"""Bursts: pulses in the coding of the medical alarm standard, with our own pitches and timbre.

Pulse counts, lengths and gaps follow IEC 60601-1-8, tables 3 and 4 (from memory and second-hand: the text of the
standard was not readable). A desk mixes its own volume: the coding is borrowed, conformance is not claimed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from monitor.core.grades import Priority

RATE = 44_100
Samples = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class Burst:
    """One burst.

    Attributes:
        fundamentals: pitch of each pulse, Hz.
        pulse_s: length of a pulse.
        gaps_s: silence after each pulse but the last.
        level: loudness, 0 to 1.
        again_s: from one burst to the next while nobody has it; ``None``: once.
    """

    fundamentals: tuple[float, ...]
    pulse_s: float
    gaps_s: tuple[float, ...]
    level: float
    again_s: float | None

    def length_s(self) -> float:
        """Give the length of the whole burst."""
        return len(self.fundamentals) * self.pulse_s + sum(self.gaps_s)


_X, _Y = 0.09, 0.18
_THIRD_TO_FOURTH = 2 * _X + 0.15
_HIGH_GAPS = (_X, _X, _THIRD_TO_FOURTH, _X, 0.6, _X, _X, _THIRD_TO_FOURTH, _X)

BURSTS: Mapping[Priority, Burst] = MappingProxyType(
    {
        Priority.HIGH: Burst((392, 392, 330, 440, 392) * 2, 0.15, _HIGH_GAPS, 0.85, 8.0),
        Priority.MEDIUM: Burst((294, 370, 294), 0.2, (_Y, _Y), 0.6, 20.0),
        Priority.LOW: Burst((247,), 0.2, (), 0.4, None),
    }
)

#: That the sound of a bed is paused: shorter and softer than any need (a default chosen here).
REMINDER = Burst((196,), 0.14, (), 0.22, 30.0)

#: Share of each harmonic, the fundamental first: at least four of them lie between 300 and 4000 Hz.
HARMONICS = (1.0, 0.55, 0.42, 0.3, 0.2, 0.12)


def samples_of(burst: Burst) -> Samples:
    """Give a burst as mono samples of 16 bits at `RATE`."""
    parts: list[NDArray[np.float64]] = []
    for number, fundamental in enumerate(burst.fundamentals):
        parts.append(_pulse(fundamental, burst.pulse_s))
        if number < len(burst.gaps_s):
            parts.append(np.zeros(round(burst.gaps_s[number] * RATE)))
    whole = np.concatenate(parts)
    scaled: Samples = np.round(whole * burst.level * 32_000).astype(np.int16)
    return scaled


def _pulse(fundamental: float, seconds: float) -> NDArray[np.float64]:
    t = np.arange(round(seconds * RATE)) / RATE
    wave = np.zeros_like(t)
    for number, share in enumerate(HARMONICS, 1):
        wave += share * np.sin(2 * np.pi * fundamental * number * t)
    rise = np.minimum(1.0, np.minimum(t, seconds - t) / (0.15 * seconds))
    shaped: NDArray[np.float64] = wave / sum(HARMONICS) * rise
    return shaped
