"""Audio pause: the desks' sound of one bed rests for at most two minutes.

Theory. While a pause stands, every high that is present at the bed was there when it began and somebody has it.
Whatever breaks that ends it at once: a new high, raised, joining or come back; a high that nobody has any more. So
it is never begun while nobody has a high, and there is none for the unit as a whole. It ends at its time to the
second, and a restart keeps that time. It touches the sound of desks alone: no ladder, call, page or entry of an
alert depends on it. (IEC 60601-1-8: *audio paused* is timed, and a new condition sounds again; from memory.)
"""

from collections.abc import Iterator

from monitor.core.bed_commands import PauseAudio
from monitor.core.entries import EntryKind
from monitor.core.grades import Priority
from monitor.core.handling import Handling
from monitor.core.state import AlertState, AudioPause, BedState
from shared.instant import SECOND, Instant
from shared.language.saying import say


def pause_audio(handling: Handling, command: PauseAudio) -> str | None:
    """Begin a pause, begin it anew, or end it (0 seconds). Gives a reason where that cannot be."""
    bed = handling.state.beds.get(command.bed)
    refusal = say("there is no bed {bed}", bed=command.bed) if bed is None else _may_not(handling, command)
    if bed is None or refusal is not None:
        return refusal
    label = handling.people[command.person].label
    if command.seconds == 0:
        if bed.audio_paused is None:
            return say("the sound of {label} is not paused", label=bed.label)
        _end(handling, bed, say("ended by {label}", label=label), command)
        return None
    if not bed.runs:
        return say("no run is open at {label}", label=bed.label)
    if any(_nobody_has(bed, alert) for alert in _highs(bed)):
        return say("nobody has the high at {label}: take it first", label=bed.label)
    until = handling.now + command.seconds * SECOND
    bed.audio_paused = AudioPause(command.person, until, handling.state.unit.next_alert)
    handling.write(
        EntryKind.AUDIO_PAUSED,
        bed.label,
        person=command.person,
        command=command.id,
        until=until,
        text=say("Desk sound paused for {seconds} s by {label}", seconds=command.seconds, label=label),
    )
    return None


def due_times(bed: BedState) -> Iterator[Instant]:
    """Give when a pause ends by its time."""
    if bed.audio_paused is not None:
        yield bed.audio_paused.until


def speak(handling: Handling, bed: BedState) -> None:
    """End a pause whose time is up."""
    if bed.audio_paused is not None and bed.audio_paused.until <= handling.now:
        _end(handling, bed, say("time is up"))


def watch(handling: Handling) -> None:
    """End the pauses that what has just happened does not allow any more."""
    for name in list(handling.touched):
        bed = handling.state.beds.get(name) if name is not None else None
        if bed is None or bed.audio_paused is None:
            continue
        if not bed.runs:
            _end(handling, bed, say("the run has ended"))
            continue
        new = next((alert for alert in _highs(bed) if alert.id >= bed.audio_paused.next_alert), None)
        if new is not None:
            _end(handling, bed, say("a new high: {title}", title=new.title))
        elif any(_nobody_has(bed, alert) for alert in _highs(bed)):
            _end(handling, bed, say("nobody has the high any more"))


def _may_not(handling: Handling, command: PauseAudio) -> str | None:
    if command.seconds and not handling.people[command.person].in_unit:
        return say("the sound is paused by somebody in the unit")
    return None


def _highs(bed: BedState) -> list[AlertState]:
    return [alert for alert in bed.alerts.values() if alert.present and alert.priority is Priority.HIGH]


def _nobody_has(bed: BedState, alert: AlertState) -> bool:
    episode = bed.episodes.get(alert.episode) if alert.episode is not None else None
    return episode is None or episode.holder is None


def _end(handling: Handling, bed: BedState, why: str, command: PauseAudio | None = None) -> None:
    bed.audio_paused = None
    handling.write(
        EntryKind.AUDIO_BACK,
        bed.label,
        person=command.person if command else None,
        command=command.id if command else None,
        text=say("Desk sound back: {why}", why=why),
    )
