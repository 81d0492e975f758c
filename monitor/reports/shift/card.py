"""The card of a bed as a document: the same sections in the same order every time, what differs first.

No verdict stands in it and nobody is blamed: numbers with their denominators, and what was written down.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import tzinfo

from monitor.core.equipment.standing import span as length
from monitor.core.roster.wall import clock_of, dated
from monitor.reports.shift.changes import measured, shown
from monitor.reports.shift.figures import AlertFigures, Answered, BedFigures, LimitFigures, RunFigures
from monitor.reports.shift.open_items import OpenItem
from shared.instant import Instant
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE, Quantity

Label = Callable[[str | None], str]
#: A mark for each priority that needs no colour, and that for what is no alert.
MARKS = {"high": "▲", "medium": "◆", "low": "●", None: "▢"}
ORIGINS = {"simulated": to_say("SIMULATED"), "entered": to_say("HAND-ENTERED"), "replayed": to_say("REPLAYED")}
#: A space at which no line ends: label, sign and number of a limit belong together.
_NO_BREAK = "\u00a0"
#: The headings of a card, in their order.
DIFFERS, OPEN = to_say("Differs from the beginning"), to_say("Open, carried to the next shift")
UNSEEN, TARGETS = to_say("Open: ended, not seen"), to_say("Targets and limits now")
ALERTS, TOLD = to_say("Alerts and answers"), to_say("Written down")


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its lines; without any where there is nothing to say of it."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """One bed: its label, how its values come about, and its sections."""

    bed: str
    mark: str
    head: str
    sections: tuple[Section, ...]


def card_of(figures: BedFigures, zone: tzinfo, label: Label, begin: Instant, end: Instant) -> Card:
    """Put a bed into words; ``begin`` and ``end`` are those of the hours."""
    words = "; ".join(_run_words(run, end) for run in figures.runs) or say("No run: nothing is watched here")
    planned = (
        say("{mark} Planned {when}: {words}", mark=MARKS[None], when=dated(one.at, zone), words=one.words)
        for one in figures.planned
    )
    found = (line for run in figures.runs for line in _findings(run))
    standing, ended = ([one for one in figures.open if one.ended_unseen is over] for over in (False, True))
    still = (*open_lines(standing, zone, begin), *found, *planned)
    unseen = tuple(open_lines(ended, zone, begin, ended=""))
    told = tuple(f"{clock_of(one.at, zone)} {one.words}" for one in figures.events)
    sections = (
        Section(DIFFERS, figures.changes or (say("nothing that was told or measured"),)),
        Section(OPEN, still or (say("nothing else") if unseen else say("nothing listed"),)),
        Section(UNSEEN, unseen),
        Section(TARGETS, tuple(_standing(figures, zone, label))),
        Section(ALERTS, tuple(alert_lines(figures.alerts))),
        Section(TOLD, told or (say("none"),)),
    )
    return Card(
        figures.bed,
        ORIGINS.get(figures.origin or "", say("no readings yet")) if figures.runs else "",
        words,
        sections,
    )


def _findings(run: RunFigures) -> Iterator[str]:
    """Say what was found on a round and not found in order since."""
    pump = f"{run.slot}: " if run.slot > 1 else ""
    return (
        say("{mark} {pump}Finding: {item}", mark=MARKS[None], pump=pump, item=item) + (f" ({note})" if note else "")
        for item, note in run.findings.items()
    )


def _run_words(run: RunFigures, end: Instant) -> str:
    ages = ", ".join(
        f"{name.replace('_', ' ')} {length(end - since)}" for name, since in run.devices.items() if end >= since
    )
    over = say(" (ended)") if run.ended is not None else ""
    return f"{run.words}{over}" + (say(" · in use: {ages}", ages=ages) if ages else "")


def open_lines(
    items: Sequence[OpenItem], zone: tzinfo, begin: Instant, ended: str = to_say(", ended, not seen")
) -> Iterator[str]:
    """Say what is open and since when; what has ended unseen and is alike stands in one line, with its count.

    ``ended``: what each of these says of itself; nothing where their heading says it.
    """
    alike: dict[str, list[OpenItem]] = {}
    for item in items:
        kept = f"{MARKS[item.priority]} {item.words}"
        alike.setdefault(f"{kept}{ended}" if item.ended_unseen else f"{kept} {item.since}", []).append(item)
    for words, same in alike.items():
        first, last = (_since(item.since, zone, begin) for item in (same[0], same[-1]))
        if not same[0].ended_unseen:
            yield f"{MARKS[same[0].priority]} {say('{words}, since {first}', words=same[0].words, first=first)}"
        else:
            yield (
                f"{words}: {first}"
                if len(same) == 1
                else say(
                    "{words}: {times} times, {first} to {last}",
                    words=words,
                    times=len(same),
                    first=first,
                    last=last,
                )
            )


def _since(at: Instant, zone: tzinfo, begin: Instant) -> str:
    return clock_of(at, zone) if at >= begin else dated(at, zone)


def _standing(figures: BedFigures, zone: tzinfo, label: Label) -> Iterator[str]:
    here = [run for run in figures.runs if run.ended is None]
    for run in here:
        pump = f"{run.words.split(',')[0]}: " if len(here) > 1 else ""
        yield from (f"{pump}{words}" for words in _of_run(run, zone, label))


def _of_run(run: RunFigures, zone: tzinfo, label: Label) -> Iterator[str]:
    for aim in run.targets:
        spec = CATALOGUE[aim.quantity]
        by = f" {label(aim.by)} {dated(aim.since, zone)}" if aim.by else say(" from the start")
        said = say(", by {prescriber}", prescriber=aim.prescriber) if aim.prescriber else ""
        yield say(
            "Target {label} {value} {unit}:{by}{said}",
            label=run.label(aim.quantity),
            value=shown(aim.quantity, aim.value),
            unit=spec.unit,
            by=by,
            said=said,
        )
    if not run.targets:
        yield say("No target stands")
    own = [one for one in run.limits if one.by is not None]
    yield from (_own(run, one, zone, label) for one in own)
    yield say("Limits: {ends}", ends=" · ".join(_usual(run)) or say("none known"))
    yield from run.call_me


def _usual(run: RunFigures) -> Iterator[str]:
    """Give the limits that stand without anybody's word, each quantity once: ``Drain P < −80, < −100 mmHg``."""
    ends: dict[Quantity, dict[str, None]] = {}
    for one in run.limits:
        if one.by is None and one.value is not None:
            side = f"{'>' if one.above else '<'} {shown(one.quantity, one.value)}"
            ends.setdefault(one.quantity, {})[side] = None
    for quantity, sides in ends.items():
        parts = f"{run.label(quantity)} {'; '.join(sides)} {CATALOGUE[quantity].unit}".rstrip()
        yield parts.replace(" ", _NO_BREAK).replace(f";{_NO_BREAK}", ", ")


def _own(run: RunFigures, one: LimitFigures, zone: tzinfo, label: Label) -> str:
    second = say(" with {label}", label=label(one.second)) if one.second else ""
    until = say(" until {when}", when=dated(one.until, zone)) if one.until is not None else ""
    return say(
        "OWN LIMIT {limit}: {label}{second}{until}{why}",
        limit=_limit(run, one),
        label=label(one.by),
        second=second,
        until=until,
        why=f": {one.why}" if one.why else "",
    )


def _limit(run: RunFigures, one: LimitFigures) -> str:
    value = "" if one.value is None else measured(one.quantity, one.value)
    return f"{run.label(one.quantity)} {'>' if one.above else '<'} {value}".replace(" ", _NO_BREAK)


def alert_lines(alerts: AlertFigures) -> Iterator[str]:
    """Give counts by priority, and how soon people answered, with how many there were to answer."""
    counted = (("high", alerts.high), ("medium", alerts.medium), ("low", alerts.low))
    counts = " · ".join(f"{MARKS[grade]} {grade} {count}" for grade, count in counted)
    episodes = say(
        "episodes: {high} high, {medium} medium", high=alerts.episodes_high, medium=alerts.episodes_medium
    )
    yield f"{counts}; {episodes}"
    if alerts.asked:
        parts = ((say("seen"), alerts.seen), (say("taken"), alerts.taken), (say("at bed"), alerts.at_bed))
        answers = " · ".join(f"{word} {_answered(one)}" for word, one in parts)
        yield say("Of {asked} to answer: {answers}", asked=alerts.asked, answers=answers)
        longest = (
            ""
            if alerts.longest_s is None
            else say("; longest without an answer {span}", span=span(alerts.longest_s))
        )
        yield say("Not answered: {unanswered}{longest}", unanswered=alerts.unanswered, longest=longest)


def _answered(one: Answered) -> str:
    if one.median_s is None or one.longest_s is None:
        return "0"
    return say(
        "{n}, median {median}, longest {longest}", n=one.n, median=span(one.median_s), longest=span(one.longest_s)
    )


def span(seconds: float) -> str:
    """Write a length of time as h:mm:ss or m:ss."""
    whole = round(seconds)
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours}:{minutes:02}:{whole % 60:02} h" if hours else f"{minutes}:{whole % 60:02} min"
