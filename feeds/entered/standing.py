"""Sentences of the open form that follow from how it stands: its times, what is wrong with disk, hub and run."""

from feeds.entered.folder import FormFolder
from feeds.entered.rounds import Rounds
from feeds.entered.words import ROUND_WORDS, clock_words, count_words, read_clock
from shared.entry.draft import EnteredSet
from shared.entry.known import Known
from shared.entry.times import is_late, read_at_fault
from shared.instant import Instant
from shared.messages import Found
from shared.support import SUPPORT_LABEL


def seat_words(folder: FormFolder, seat: Known) -> str:
    """Write what a run is, which pump where a bed has two, and what is written beside the bed."""
    pump = f" · pump {seat.run.slot}" if sum(one.bed == seat.bed for one in folder.seats) > 1 else ""
    note = folder.notes.get(seat.bed, "")
    return f"{SUPPORT_LABEL[seat.run.support]}{pump}{f' · {note}' if note else ''}"


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
        return f"Read at (F4): {clock_words(rounds.correcting[0].newest.read_at, zone)} as sent"
    late = " · will be marked late" if is_late(rounds.folder.table.times, rounds.read_at, now) else ""
    return f"Read at (F4): {clock_words(rounds.read_at, zone)} · entered {clock_words(now, zone)}{late}"


def trouble_words(rounds: Rounds, unchecked: str) -> str:
    """Say what is wrong for as long as it is; ``unchecked``: what is not checked of who types."""
    parts = []
    if not rounds.is_open:
        parts.append(
            f"THE RUN IS OVER that this form is for, or has moved away from {rounds.draft.place.bed}: nothing of "
            "it can be sent. F5: beds as they are now."
        )
    if rounds.in_memory:
        parts.append("THE DISK REFUSES: what is sent is kept in memory only. Write it on paper too.")
    elif rounds.disk_faults:
        refused = " and ".join(sorted(rounds.disk_faults))
        parts.append(f"THE DISK REFUSES {refused}: write on paper what you type.")
    waiting = rounds.waiting()
    if waiting and not rounds.hub_is_there:
        sets = "1 set is" if waiting == 1 else f"{waiting} sets are"
        kept = "kept here and sent" if not rounds.in_memory else "sent"
        parts.append(f"The hub is not there: {sets} NOT STORED YET, {kept} when it is back.")
    if unchecked:
        parts.append(unchecked)
    return " ".join([*parts, *rounds.put_aside])


def parts_words(rounds: Rounds) -> tuple[str, str]:
    """Say what stands in the two parts of the form: numbers, and what was looked at."""
    typed, answers = len(rounds.draft.typed), rounds.draft.answers
    items = [one for one in rounds.items if one.id in answers or not one.optional]
    done = sum(one.id in answers for one in items)
    numbers = f"Numbers: {typed} typed" if typed else "Numbers"
    return numbers, f"{ROUND_WORDS[rounds.draft.round]}: {done} of {len(items)} answered"


def sent_words(sent: EnteredSet, left_out: list[str]) -> str:
    """Say what was sent, and the labels of what was ``left_out``."""
    parts = [count_words(len(sent.values), "number")] if sent.values else []
    if sent.round is not None:
        seen = sum(one.found is not Found.NOT_LOOKED for one in sent.looked.values())
        parts.append(f"{ROUND_WORDS[sent.round].lower()} ({seen} of {len(sent.looked)} looked at)")
    left = f" NOT sent: {', '.join(left_out)}." if left_out else ""
    return f"{sent.place.bed}: {' and '.join(parts)} sent{', marked late' if sent.late else ''}.{left}"
