"""From a run to the patterns that are consistent with it: the table of the unit against what is observed."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from monitor.analysis.patterns import Asked, Left, Ranking, Role, Row, Seen, rank
from monitor.core.hint_state import HintState
from monitor.core.meaning.observed import Observed
from monitor.core.meaning.sign_subjects import Found
from monitor.core.meaning.signs import changed_here, look_for
from monitor.core.meaning.source import Source
from monitor.core.patterns import Is, Pattern, Sign
from monitor.core.state import BedState, RunState
from shared.language.saying import say
from shared.support import RunDescription


@dataclass(frozen=True, slots=True)
class Matched:
    """The ranking, the patterns of this run by letter, and what was found of the signs of those not ruled out."""

    ranking: Ranking
    patterns: dict[str, Pattern]
    found: dict[str, tuple[Found, ...]]
    observed: Observed

    @property
    def run(self) -> RunDescription:
        """The run that is looked at."""
        return self.observed.run.description

    def order(self) -> list[str]:
        """Give the letters of the consistent patterns, the likeliest first."""
        return [fit.id for fit in self.ranking.fits]

    def signs(self, letter: str) -> tuple[list[tuple[Sign, Found]], list[tuple[Sign, Found]]]:
        """Give the signs for and against a consistent pattern, with what was found; what changed comes first."""
        fit = next(fit for fit in self.ranking.fits if fit.id == letter)
        signs, found = self.patterns[letter].sign, self.found[letter]
        told = sorted(fit.signs_for, key=lambda place: signs[place].is_ == (Is.UNCHANGED,))
        return [(signs[p], found[p]) for p in told], [(signs[p], found[p]) for p in fit.signs_against]

    def said(self, signs: Iterable[tuple[Sign, Found]]) -> list[str]:
        """Give the words of signs as this run has them, each once."""
        return list(dict.fromkeys(sign.said(self.run) for sign, _ in signs))

    def alternatives(self, letter: str) -> list[str]:
        """Give what fits too: the other consistent patterns in order, then those that the table names."""
        others = [other for other in self.order() if other != letter]
        named = [other for other in self.patterns[letter].alternatives if other in self.patterns]
        return [*others, *(other for other in named if other not in others)]

    def why_left(self, left: Left) -> str:
        """Say what was missing to judge a pattern."""
        whys = dict.fromkeys(self.found[left.id][place].why for place in left.missing)
        return ", ".join(why for why in whys if why) or say("nothing usual to compare with yet")


def match(source: Source, bed: BedState, run: RunState, kept: HintState | None = None) -> Matched:
    """Hold the table against a run as it stands at ``source.now``."""
    observed = Observed.at(source, bed, run, kept or HintState())
    look = _looker(observed)
    description = run.description
    here = observed.patterns.here(description.support, description.oxygenator)
    found = {row.id: looked for row in here if (looked := _look(look, row)) is not None}
    rows = [Row(row.id, tuple(map(_asked, row.sign, found[row.id]))) for row in here if row.id in found]
    return Matched(rank(rows, frozenset(changed_here(observed))), {row.id: row for row in here}, found, observed)


def _looker(observed: Observed) -> Callable[[Sign], Found]:
    """Give what looks for a sign of this moment; half of the table's signs are those of another pattern too."""
    found: dict[object, Found] = {}

    def look(sign: Sign) -> Found:
        asked = (sign.of, sign.is_, sign.before, sign.than, sign.since_run)
        if asked not in found:
            found[asked] = look_for(observed, sign)
        return found[asked]

    return look


def _look(look: Callable[[Sign], Found], row: Pattern) -> tuple[Found, ...] | None:
    """Look for a pattern's signs; ``None`` where a required one is not there, nor any that could stand for it."""
    found: dict[int, Found] = {}
    standing: dict[str, bool] = {}
    for place, sign in enumerate(row.sign):
        if sign.role is Role.REQUIRED:
            found[place] = look(sign)
            absent = found[place].seen is Seen.ABSENT
            if absent and not sign.one_of:
                return None
            if sign.one_of:
                standing[sign.one_of] = standing.get(sign.one_of, False) or not absent
    if not all(standing.values()):
        return None
    return tuple(found[p] if p in found else look(sign) for p, sign in enumerate(row.sign))


def _asked(sign: Sign, found: Found) -> Asked:
    return Asked(sign.role, found.seen, _about(sign, found), sign.one_of, sign.if_fitted)


def _about(sign: Sign, found: Found) -> str:
    """A sign about whichever pressure moved is about that one."""
    return (found.quantity or sign.of).value
