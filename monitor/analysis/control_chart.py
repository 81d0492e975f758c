"""Control charts that see a small lasting shift sooner than a limit does: two-sided CUSUM and EWMA.

Both take values as standard deviations from what was usual. How long they stay silent where nothing has changed,
and how soon they speak, is their run length, in *independent samples*: on readings of once a second the designs
below would speak falsely every few minutes, so they run on medians of minutes.

Weirkeeper's own design is `CUSUM_DESIGN`: k 1, h 5, on medians of minutes. Its mean run length is 53 600 minutes
(37 days) a quantity where nothing has changed, 38 min at a shift of 1, 5.8 min at 2 and 3.1 min at 3 standard
deviations (``tests/published/test_control_chart.py`` works them out). A smaller k sees smaller shifts, but what was
usual is itself known from five or ten minutes only, so a smaller k would speak of the error in that.

Sources: Page 1954, Biometrika 41:100 (CUSUM); Roberts 1959, Technometrics 1:239, and Lucas & Saccucci 1990,
Technometrics 32:1 (EWMA).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CusumDesign:
    """Allowance ``k`` and decision interval ``h``, both in standard deviations."""

    k: float
    h: float


#: What onsets are found with.
CUSUM_DESIGN = CusumDesign(1.0, 5.0)


@dataclass(frozen=True, slots=True)
class Cusum:
    """Both sums after a sample, each from 0 up, and the index of the first sample since each was last 0.

    ``rises_since``, ``falls_since``: ``None`` while that sum is 0.
    """

    rises: float
    falls: float
    rises_since: int | None
    falls_since: int | None


def cusum(scores: Iterable[float], k: float, most: float = math.inf) -> list[Cusum]:
    """Give both sums after each of ``scores``; a sum above h speaks, and its ``since`` dates the change.

    ``most``: no sum grows beyond it, so that it is soon 0 again once what was usual is back.
    """
    sums: list[Cusum] = []
    rises = falls = 0.0
    rises_since: int | None = None
    falls_since: int | None = None
    for index, score in enumerate(scores):
        rises, falls = min(most, max(0.0, rises + score - k)), min(most, max(0.0, falls - score - k))
        rises_since = (index if rises_since is None else rises_since) if rises > 0 else None
        falls_since = (index if falls_since is None else falls_since) if falls > 0 else None
        sums.append(Cusum(rises, falls, rises_since, falls_since))
    return sums


@dataclass(frozen=True, slots=True)
class Ewma:
    """The weighted mean after a sample and the limit that it speaks beyond, either way."""

    mean: float
    limit: float

    @property
    def speaks(self) -> bool:
        """Tell whether the mean is beyond the limit."""
        return abs(self.mean) > self.limit


def ewma(scores: Iterable[float], weight: float, width: float) -> list[Ewma]:
    """Give the exponentially weighted mean after each score, from 0, with its exact limit of that sample.

    Args:
        weight: of the newest score, 0 to 1.
        width: of the limit, in standard deviations of the mean.
    """
    means: list[Ewma] = []
    mean, left = 0.0, 1.0
    settled = weight / (2 - weight)
    for score in scores:
        mean += weight * (score - mean)
        left *= (1 - weight) ** 2
        means.append(Ewma(mean, width * math.sqrt(settled * (1 - left))))
    return means
