"""What is written down at a bed besides answers: transports, return checks, exchanges, trials.

Everything here tells what was done or is ordered at the bed; nothing is controlled.
"""

import uuid
from collections.abc import Callable
from typing import TypedDict

from monitor.core.commands import (
    Command,
    Device,
    EndTransport,
    EndTrial,
    Exchange,
    ReturnCheck,
    StartTransport,
    StartTrial,
)
from monitor.core.grades import TrialKind
from monitor.core.view import RunView, TileView
from monitor.desk.people import People
from monitor.desk.question import Choice, Question
from monitor.desk.session import Session
from shared.instant import MINUTE, Instant
from shared.support import SUPPORT_LABEL

_DEVICES = (
    Choice(Device.PUMP_HEAD, "Pump head"),
    Choice(Device.OXYGENATOR, "Oxygenator"),
    Choice(Device.TUBING, "Tubing"),
    Choice(Device.CONSOLE, "Console"),
)
_TRIALS = (
    Choice(TrialKind.TURN_DOWN, "Turn-down"),
    Choice(TrialKind.RETROGRADE, "Retrograde"),
    Choice(TrialKind.SWEEP_OFF, "Sweep off"),
    Choice(TrialKind.CLAMP, "Clamp"),
)
_BACK = tuple(Choice(str(minutes), f"{minutes} min") for minutes in (15, 30, 45, 60, 90, 120))
_LASTS = tuple(Choice(str(minutes), f"{minutes} min") for minutes in (5, 15, 30, 60, 120, 240))
_FLOORS = tuple(Choice(f"{floor}", f"{floor} L/min") for floor in (0.8, 1.0, 1.2, 1.5, 2.0))


class _Who(TypedDict):
    """What every command names."""

    id: str
    person: str


class BedMenu:
    """Asks, step by step, and gives the command at the end. Escape at any step: nothing is written.

    Args:
        ask: puts a question on the screen.
        give: hands a command to the hub.
        now: the hub's time, ``None`` before its first word.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        ask: Callable[[Question], None],
        give: Callable[[Command], None],
        now: Callable[[], Instant | None],
    ) -> None:
        self._session = session
        self._people = people
        self._ask = ask
        self._give = give
        self._now = now

    def open(self, bed: str) -> None:
        """Ask what is to be written down at a bed."""
        tile = self._session.store.tiles.get(bed)
        if tile is None or not tile.runs:
            return
        away = tile.transport is not None and tile.transport.ended_at is None
        steps: dict[str, tuple[Choice, Callable[[TileView], None]]] = {
            "transport": (Choice("transport", "Transport begins", "t"), self._transport),
            "back": (Choice("back", "Back from transport", "b"), self._back),
            "check": (Choice("check", "Return check done", "r"), self._check),
            "exchange": (Choice("exchange", "Exchange", "x"), self._exchange),
            "trial": (Choice("trial", "Trial begins", "w"), self._trial),
            "end": (Choice("end", "Trial ends", "e"), self._end_trial),
        }
        hidden = {"transport"} if away else {"back"}
        if tile.transport is None or away:
            hidden.add("check")
        choices = tuple(choice for name, (choice, _) in steps.items() if name not in hidden)
        self._ask(Question(f"At {bed}: write down", choices, lambda value: steps[value][1](tile)))

    # -- transports -----------------------------------------------------------------------------------------

    def _transport(self, tile: TileView) -> None:
        people = self._people.choices()
        self._ask(Question(f"{tile.bed}: who leads?", people, lambda leader: self._planned(tile, leader)))

    def _planned(self, tile: TileView, leader: str) -> None:
        note = "Alerts are not muted. It ends only when somebody says so."
        self._ask(
            Question(f"{tile.bed}: back in", _BACK, lambda value: self._leave(tile, leader, int(value)), note)
        )

    def _leave(self, tile: TileView, leader: str, minutes: int) -> None:
        back = self._after(minutes)
        if back is not None:
            self._give(StartTransport(**self._who(), bed=tile.bed, leader=leader, back=back))

    def _back(self, tile: TileView) -> None:
        self._give(EndTransport(**self._who(), bed=tile.bed))

    def _check(self, tile: TileView) -> None:
        self._give(ReturnCheck(**self._who(), bed=tile.bed))

    # -- exchanges and trials, at one of the pumps ----------------------------------------------------------

    def _exchange(self, tile: TileView) -> None:
        self._pump(tile, lambda slot: self._device(tile, slot))

    def _device(self, tile: TileView, slot: int) -> None:
        def give(device: str) -> None:
            self._give(Exchange(**self._who(), bed=tile.bed, slot=slot, device=Device(device)))

        note = "The baselines that the device made begin anew; a console makes none."
        self._ask(Question(f"{tile.bed}: exchanged", _DEVICES, give, note))

    def _trial(self, tile: TileView) -> None:
        self._pump(tile, lambda slot: self._kind(tile, slot))

    def _kind(self, tile: TileView, slot: int) -> None:
        title = f"{tile.bed}: which trial was ordered?"
        self._ask(Question(title, _TRIALS, lambda kind: self._second(tile, slot, TrialKind(kind))))

    def _second(self, tile: TileView, slot: int, kind: TrialKind) -> None:
        others = tuple(one for one in self._people.choices() if one.value != self._people.name)
        title = f"{tile.bed}: second person"
        self._ask(Question(title, others, lambda second: self._lasts(tile, slot, kind, second)))

    def _lasts(self, tile: TileView, slot: int, kind: TrialKind, second: str) -> None:
        def next_step(value: str) -> None:
            if kind is TrialKind.TURN_DOWN:
                title = f"{tile.bed}: floor flow as ordered"
                self._ask(
                    Question(title, _FLOORS, lambda floor: self._begin(tile, slot, kind, second, value, floor))
                )
            else:
                self._begin(tile, slot, kind, second, value, None)

        note = "At the end its limits fall away, whoever remembers."
        self._ask(Question(f"{tile.bed}: ends after", _LASTS, next_step, note))

    def _begin(
        self, tile: TileView, slot: int, kind: TrialKind, second: str, minutes: str, floor: str | None
    ) -> None:
        until = self._after(int(minutes))
        if until is None:
            return
        command = StartTrial(
            **self._who(),
            bed=tile.bed,
            slot=slot,
            trial=kind,
            until=until,
            second=second,
            floor_flow=float(floor) if floor is not None else None,
        )
        self._give(command)

    def _end_trial(self, tile: TileView) -> None:
        self._pump(tile, lambda slot: self._give(EndTrial(**self._who(), bed=tile.bed, slot=slot)))

    def _pump(self, tile: TileView, then: Callable[[int], None]) -> None:
        """Ask which pump is meant where a bed has two."""
        if len(tile.runs) == 1:
            then(tile.runs[0].description.slot)
            return
        choices = tuple(Choice(str(run.description.slot), _label(run)) for run in tile.runs)
        self._ask(Question(f"{tile.bed}: which pump?", choices, lambda slot: then(int(slot))))

    def _who(self) -> _Who:
        return _Who(id=uuid.uuid4().hex, person=self._people.name or "")

    def _after(self, minutes: int) -> Instant | None:
        now = self._now()
        return None if now is None else now + minutes * MINUTE


def _label(run: RunView) -> str:
    return f"{SUPPORT_LABEL[run.description.support]}, pump {run.description.slot}"
