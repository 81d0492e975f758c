"""The possible patterns of a run, worked out when the page asks: nothing is shown where nothing has changed."""

from collections.abc import Iterable

from monitor.core.judging.sets import is_fresh_set
from monitor.core.meaning.hint_view import HintView, SignView
from monitor.core.meaning.matching import Matched, match
from monitor.core.meaning.sign_subjects import Found
from monitor.core.meaning.source import Source
from monitor.core.patterns import Sign
from monitor.core.state import BedState, RunState
from shared.language.saying import say, to_say
from shared.support import RunDescription

SET_TOO_OLD = to_say("Nothing is judged: the last set was read too long ago")


def hints_of(source: Source, bed: BedState, run: RunState) -> tuple[tuple[HintView, ...], tuple[str, ...]]:
    """Give the consistent patterns, the likeliest first, and which this bed cannot judge, each with the reason."""
    if not source.configuration.patterns.pattern or run.last_reading_at is None:
        return (), ()
    if bed.by_sets and not is_fresh_set(run, source.now, source.configuration.ladder.timings):
        return (), (SET_TOO_OLD,)
    matched = match(source, bed, run, run.hints)
    hints = tuple(_view(matched, letter, run) for letter in matched.order())
    return hints, tuple(_not_judged(matched))


def _view(matched: Matched, letter: str, run: RunState) -> HintView:
    pattern = matched.patterns[letter]
    signs_for, signs_against = matched.signs(letter)
    also = matched.alternatives(letter)
    return HintView(
        id=letter,
        title=pattern.title,
        signs_for=tuple(_sign(*pair, run.description) for pair in signs_for),
        signs_against=tuple(_sign(*pair, run.description) for pair in signs_against),
        also=tuple(matched.patterns[other].title for other in also),
        also_ids=tuple(also),
        apart=f"{pattern.apart} {pattern.apart_oxygenator if run.description.oxygenator else ''}".rstrip(),
        since=run.hints.since.get(letter) if run.hints is not None else None,
    )


def _sign(sign: Sign, found: Found, run: RunDescription) -> SignView:
    return SignView(words=sign.said(run), quantity=found.quantity, value=found.value, at=found.at)


def _not_judged(matched: Matched) -> Iterable[str]:
    """Name the patterns that are not judged, those with the same reason together."""
    titles: dict[str, list[str]] = {}
    for left in matched.ranking.left:
        where = say("cannot be judged now") if left.fitted else say("cannot be judged here")
        titles.setdefault(f"{where}: {matched.why_left(left)}", []).append(matched.patterns[left.id].title)
    return (f"{', '.join(named)}: {why}" for why, named in titles.items())
