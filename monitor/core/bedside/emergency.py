"""The off-support clock of a run, and the ticks of an emergency card: who, when, and nothing that is judged by."""

from monitor.core.commands import EndRun
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.state import BedState, CardTick, CardUse, OffSupport, RunState
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say

#: A key may have been pressed so long before its command comes: meanwhile a desk asks who it is.
PRESSED_MS = 5 * MINUTE
#: Ticks older than this are of another emergency: the next one begins the card anew.
CARD_MS = 2 * HOUR


def go_off(handling: Handling, command: GoOffSupport) -> str | None:
    """Start a run's off-support clock."""
    run = _run(handling, command)
    if run is None:
        return say("no run is open at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    if run.off_support is not None:
        return say(
            "the off-support clock of {bed} runs already, since {time}",
            bed=command.bed,
            time=_ago(handling, run.off_support.since),
        )
    since = _pressed(handling, command.pressed)
    if since is None:
        return say("that key was pressed more than 5 min ago: press it again, and write the time before that down")
    run.off_support = OffSupport(command.person, since)
    before = (handling.now - since) // SECOND
    handling.write(
        EntryKind.OFF_SUPPORT,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        text=say("Off support") + (say(", for {before} s", before=before) if before else ""),
    )
    return None


def back_on(handling: Handling, command: BackOnSupport) -> str | None:
    """End a run's off-support clock: the entry says for how many seconds it ran."""
    run = _run(handling, command)
    if run is None or run.off_support is None:
        return say("no off-support clock runs at {bed}, pump {slot}", slot=command.slot, bed=command.bed)
    until = _pressed(handling, command.pressed)
    if until is None:
        return say("that key was pressed more than 5 min ago: press it again, and write the time down")
    end_clock(handling, command, run, max(until, run.off_support.since), say("Back on support"))
    return None


def end_clock(
    handling: Handling, command: BackOnSupport | EndRun, run: RunState, until: Instant, ended: str
) -> None:
    """Write down how long a run was off support, if its clock runs; ``ended``: by what."""
    if run.off_support is None:
        return
    took, run.off_support = (until - run.off_support.since) / SECOND, None
    handling.write(
        EntryKind.BACK_ON_SUPPORT,
        command.bed,
        slot=command.slot,
        person=command.person,
        command=command.id,
        value=took,
        text=say("{ended}: off support for {took:.0f} s", ended=ended, took=took),
    )


def begin_card(handling: Handling, command: BeginCard) -> str | None:
    """Begin a card anew: nothing of it is ticked."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return say("there is no bed {bed}", bed=command.bed)
    bed.emergency_cards[command.card] = CardUse(command.title, command.version, handling.now)
    text = say("Card begun: {title}, version {version}", title=command.title, version=command.version)
    handling.write(EntryKind.CARD, command.bed, person=command.person, command=command.id, text=text)
    return None


def tick_step(handling: Handling, command: TickStep) -> str | None:
    """Tick a step of a card, or take its tick back."""
    bed = handling.state.beds.get(command.bed)
    if bed is None:
        return say("there is no bed {bed}", bed=command.bed)
    use = _use(bed, command, handling.now)
    if command.done:
        use.ticks[command.step] = CardTick(handling.now, command.person)
    elif use.ticks.pop(command.step, None) is None:
        return say("step {step} of {title} is not ticked", step=command.step, title=command.title)
    bed.emergency_cards[command.card], use.last_at = use, handling.now
    done = say("done") if command.done else say("tick taken back")
    text = say(
        "{title} (version {version}), step {step} {done}: {text}",
        title=command.title,
        version=command.version,
        step=command.step,
        done=done,
        text=command.text,
    )
    handling.write(EntryKind.CARD, command.bed, person=command.person, command=command.id, text=text)
    return None


def _use(bed: BedState, command: TickStep, now: Instant) -> CardUse:
    """Give a copy of the card's present use; of another version, or too long ago: a new one."""
    use = bed.emergency_cards.get(command.card)
    if use is None or use.version != command.version or now - use.last_at >= CARD_MS:
        return CardUse(command.title, command.version, now)
    return CardUse(use.title, use.version, use.last_at, dict(use.ticks))


def _run(handling: Handling, command: GoOffSupport | BackOnSupport) -> RunState | None:
    bed = handling.state.beds.get(command.bed)
    return bed.runs.get(command.slot) if bed else None


def _pressed(handling: Handling, pressed: Instant | None) -> Instant | None:
    """Give when the key was pressed, never later than now; ``None``: too long ago to be believed."""
    at = handling.now if pressed is None else min(pressed, handling.now)
    return at if handling.now - at <= PRESSED_MS else None


def _ago(handling: Handling, since: Instant) -> str:
    return f"{(handling.now - since) // SECOND} s"
