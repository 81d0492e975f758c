"""Hints in the alert log: while a run has an alert, its readings are held against the table of patterns.

At once when an alert is raised, then at most every ten seconds of readings. What is remembered is written down here
and nowhere else. No alert, no priority, no call and no episode depends on any of it.
"""

from monitor.core.entries import EntryKind
from monitor.core.grades import RANK
from monitor.core.handling import Handling
from monitor.core.hint_state import HintState, Stand
from monitor.core.meaning.matching import Matched, match
from monitor.core.meaning.source import Source
from monitor.core.patterns import Looking
from monitor.core.state import AlertState, BedState, RunState
from shared.instant import Instant, ms

#: Another order is written down when another pattern comes first; what follows it comes and goes with the noise.
ORDERED = 1


def heed(handling: Handling, source: Source, bed: BedState, run: RunState, raised: bool) -> None:
    """Look at a run after an observation, if it is time to; write a hint down where there is a new one.

    Args:
        raised: an alert was raised on this observation.
    """
    if not source.configuration.patterns.pattern:
        return
    alerts = [
        alert for alert in bed.alerts.values() if alert.present and alert.slot in (None, run.description.slot)
    ]
    if not alerts or run.last_reading_at is None:
        run.hints = None
        return
    looking, hints = source.configuration.patterns.looking, run.hints
    if hints is None:
        hints = run.hints = HintState()
    elif not raised and run.last_reading_at - hints.looked_at < ms(looking.every_s):
        return
    matched = match(source, bed, run, hints)
    _remember(hints, matched, run.last_reading_at)
    if bed.by_sets:  # the next look is an hour away: nothing to wait for
        looking = looking.model_copy(update={"hold_s": 0.0})
    if _is_news(hints, matched, looking, run.last_reading_at, raised):
        _write(handling, bed, run, matched, _leading(alerts))


def _remember(hints: HintState, matched: Matched, now: Instant) -> None:
    """Keep what later looks can no longer see in the readings."""
    observed = matched.observed
    for quantity in observed.dated:
        began = observed.began(quantity)
        if began is not None:
            hints.began[quantity] = began
        elif observed.change(quantity) is not None:
            hints.began.pop(quantity, None)
    hints.stands |= {of: stand for of, stand in observed.stood.items() if stand is not Stand.BETWEEN}
    rose = {quantity: observed.rose(quantity) for quantity in observed.watched_for_rise}
    hints.rose_at = {quantity: at for quantity, at in rose.items() if at is not None}
    hints.since = {letter: hints.since.get(letter, now) for letter in matched.order()}
    hints.looked_at = now


def _is_news(hints: HintState, matched: Matched, looking: Looking, now: Instant, raised: bool) -> bool:
    """Tell whether something is to be written: a first hint, another order that has held, or new signs at an alert.

    A laboratory value that becomes a sign is news as well: it comes seldom, and from somebody's hand.
    """
    order = matched.order()[:ORDERED]
    signs = matched.signs(order[0])[0] if order else []
    words = matched.said(signs)
    if order == hints.order:
        hints.waiting, hints.waiting_since = [], None
        drawn = matched.said((sign, found) for sign, found in signs if found.drawn)
        news = bool(order) and ((raised and words != hints.words) or any(word not in hints.words for word in drawn))
    else:
        if hints.waiting_since is None or hints.waiting != order:
            hints.waiting, hints.waiting_since = order, now
        news = not hints.order or now - hints.waiting_since >= ms(looking.hold_s)
    if news:
        hints.order, hints.words = order, words
        hints.waiting, hints.waiting_since = [], None
    return news and bool(order)


def _write(handling: Handling, bed: BedState, run: RunState, matched: Matched, alert: AlertState) -> None:
    letter = matched.order()[0]
    signs_for, signs_against = matched.signs(letter)
    handling.write(
        EntryKind.HINT,
        bed.label,
        slot=run.description.slot,
        alert=alert.id,
        episode=alert.episode,
        hint=letter,
        signs_for=tuple(matched.said(signs_for)),
        signs_against=tuple(matched.said(signs_against)),
        alternatives=tuple(matched.alternatives(letter)),
        text=matched.patterns[letter].title,
    )


def _leading(alerts: list[AlertState]) -> AlertState:
    return min(alerts, key=lambda alert: (RANK[alert.priority], alert.raised_at, alert.id))
