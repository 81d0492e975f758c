"""Sentences of the open form that follow from how it stands: its times, what is wrong with disk, hub and run."""

from feeds.entered.folder import FormFolder
from feeds.entered.rounds import Rounds
from feeds.entered.words import ROUND_WORDS, clock_words, numbers_words, read_clock
from shared.entry.draft import EnteredSet
from shared.entry.known import Known
from shared.entry.times import is_late, read_at_fault
from shared.instant import Instant
from shared.language.saying import say, says
from shared.messages import Found
from shared.support import SUPPORT_LABEL


def seat_words(folder: FormFolder, seat: Known) -> str:
    """Write what a run is, which pump where a bed has two, and what is written beside the bed."""
    pump = say(" · pump {slot}", slot=seat.run.slot) if sum(one.bed == seat.bed for one in folder.seats) > 1 else ""
    note = folder.notes.get(seat.bed, "")
    return f"{say(SUPPORT_LABEL[seat.run.support])}{pump}{f' · {note}' if note else ''}"


def time_typed(rounds: Rounds, text: str) -> Instant | None:
    """Read the time at which numbers were read; empty: when the first of them was typed.

    Raises:
        ValueError: it is none, or numbers cannot have been read then; in words.
    """
    now = rounds.clock()
    found = read_clock(text, now, rounds.folder.zone) if text else None
    if isinstance(found, int):
        charge = rounds.person is not None and rounds.person.is_charge
        fault = read_at_fault(rounds.folder.table.times, found, now, charge)
        if fault:
            raise ValueError(fault)
    elif found is not None:
        raise ValueError(found)
    return found


def times_words(rounds: Rounds, now: Instant) -> str:
    """Write when the numbers were read and are entered."""
    zone = rounds.folder.zone
    if rounds.correcting is not None and rounds.draft.read_at is None:
        return say(
            "Read at (F4): {clock_words} as sent",
            clock_words=clock_words(rounds.correcting[0].newest.read_at, zone),
        )
    late = say(" · will be marked late") if is_late(rounds.folder.table.times, rounds.read_at, now) else ""
    return say(
        "Read at (F4): {clock_words} · entered {clock_words2}{late}",
        clock_words=clock_words(rounds.read_at, zone),
        clock_words2=clock_words(now, zone),
        late=late,
    )


def trouble_words(rounds: Rounds, unchecked: str) -> str:
    """Say what is wrong for as long as it is; ``unchecked``: what is not checked of who types."""
    parts = []
    if not rounds.is_open:
        parts.append(
            say(
                "THE RUN IS OVER that this form is for, or has moved away from {bed}: nothing of it can "
                "be sent. F5: beds as they are now.",
                bed=rounds.draft.place.bed,
            )
        )
    if rounds.in_memory:
        parts.append(
            say(
                "THE DISK REFUSES: what is sent is kept in memory only. Write it on paper too, and leave this "
                "form open."
            )
        )
    elif rounds.disk_faults:
        refused = say(" and ").join(sorted(rounds.disk_faults))
        parts.append(say("THE DISK REFUSES {refused}: write on paper what you type.", refused=refused))
    waiting = rounds.waiting()
    if waiting and not rounds.hub_is_there:
        parts.append(_waiting_words(waiting, rounds.in_memory))
    if unchecked:
        parts.append(unchecked)
    return " ".join([*parts, *rounds.put_aside])


def _waiting_words(waiting: int, in_memory: bool) -> str:
    if in_memory:
        return says(
            "The hub is not there: 1 set is NOT STORED YET, sent when it is back.",
            "The hub is not there: {count} sets are NOT STORED YET, sent when it is back.",
            waiting,
        )
    return says(
        "The hub is not there: 1 set is NOT STORED YET, kept here and sent when it is back.",
        "The hub is not there: {count} sets are NOT STORED YET, kept here and sent when it is back.",
        waiting,
    )


def parts_words(rounds: Rounds) -> tuple[str, str]:
    """Say what stands in the two parts of the form: numbers, and what was looked at."""
    typed, answers = len(rounds.draft.typed), rounds.draft.answers
    items = [one for one in rounds.items if one.id in answers or not one.optional]
    done = sum(one.id in answers for one in items)
    numbers = say("Numbers: {typed} typed", typed=typed) if typed else say("Numbers")
    return numbers, say(
        "{round_words}: {done} of {count} answered",
        round_words=say(ROUND_WORDS[rounds.draft.round]),
        done=done,
        count=len(items),
    )


def sent_words(sent: EnteredSet, left_out: list[str]) -> str:
    """Say what was sent, and the labels of what was ``left_out``."""
    parts = [numbers_words(len(sent.values))] if sent.values else []
    if sent.round is not None:
        seen = sum(one.found is not Found.NOT_LOOKED for one in sent.looked.values())
        parts.append(
            say(
                "{round_words} ({seen} of {count} looked at)",
                round_words=say(ROUND_WORDS[sent.round]).lower(),
                seen=seen,
                count=len(sent.looked),
            )
        )
    left = say(" NOT sent: {left_out}.", left_out=", ".join(left_out)) if left_out else ""
    return say(
        "{bed}: {parts} sent{late}.{left}",
        bed=sent.place.bed,
        parts=say(" and ").join(parts),
        late=say(", marked late") if sent.late else "",
        left=left,
    )
