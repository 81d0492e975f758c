"""What the desk knows: the hub's words as they stand, and nothing of its own. Plain Python, no window.

The store applies what the client hands over, in order, and says what has changed, so that only that is painted
again. Seconds of the monotonic clock are arguments; times of the hub are milliseconds.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from monitor.core.entries import Entry
from monitor.core.meaning.view import Meaning
from monitor.core.view import EpisodeView, PersonView, TileView, UnitView
from monitor.core.wire import (
    Beat,
    Cards,
    CommandAnswer,
    Entries,
    EntryDelta,
    History,
    Load,
    Meant,
    News,
    NotUnderstood,
    ReadingsAnew,
    ReadingsDelta,
    Snapshot,
    TileDelta,
    UnitDelta,
)
from monitor.desk.command_life import CommandBook
from monitor.desk.heard_views import in_our_words
from monitor.desk.hearing import Heard, SendFailed
from monitor.desk.hub_clock import HubClock
from monitor.desk.link_state import Link
from monitor.desk.need import order_of_need
from monitor.desk.reach import NOT_SAID, HubAddress, Reached
from monitor.desk.readings import Readings
from shared.instant import Instant
from shared.language.saying import say
from shared.messages import Origin
from shared.sign_in import SignedIn

#: Requests for the small trends carry this at the front of their id; other answers go to whoever asked.
SPARK = "spark:"


@dataclass(slots=True)
class Changes:
    """What a batch has changed: beds to look at again, the unit, and answers for whoever asked.

    ``views``: the hub told how a bed or the unit stands; else there is nothing new but readings. ``past``: trends
    that were shown are no longer true and are to be asked for again. ``read``: what was read.
    """

    beds: set[str] = field(default_factory=set)
    unit: bool = False
    views: bool = False
    snapshot: bool = False
    past: bool = False
    commands: bool = False
    entries: list[Entry] = field(default_factory=list)
    read: list[ReadingsDelta] = field(default_factory=list)
    replies: list[History | Entries | Load | Cards | Meant | News | SignedIn | NotUnderstood] = field(
        default_factory=list
    )
    sparks: list[str] = field(default_factory=list)


class Store:
    """The desk's read model. ``begun``: monotonic second at which the desk began to listen; ``hub``: where.

    ``meant``: by bed and slot, what the numbers of a run meant when that was last asked; old ones stand with their
    time.
    """

    def __init__(self, begun: float, hub: HubAddress = NOT_SAID) -> None:
        self.unit: UnitView | None = None
        self.tiles: dict[str, TileView] = {}
        self.readings = Readings()
        self.clock = HubClock()
        self.link = Link(begun, hub)
        self.commands = CommandBook()
        self.changed_at: dict[str, Instant] = {}
        self.meant: dict[tuple[str, int], Meaning] = {}
        self.boot = ""

    # -- taking in ------------------------------------------------------------------------------------------

    def apply(self, heard: Heard, changes: Changes) -> None:
        """Apply one thing that was heard and note in ``changes`` what it touched."""
        message, at = in_our_words(heard.message), heard.at
        if isinstance(message, Snapshot):
            self._snapshot(message, at, changes)
        elif isinstance(message, Beat):
            self.clock.hear(message.hub_time, at)
            self.link.hear(at)
        elif isinstance(message, ReadingsDelta):
            self.readings.take(message)
            changes.read.append(message)
            self._freshen(message)
            changes.beds.add(message.bed)
            self.link.hear(at)
        elif isinstance(message, ReadingsAnew):
            self.readings.renew(message)
            changes.beds.add(message.bed)
            changes.past = True
            self.link.hear(at)
        elif isinstance(message, TileDelta):
            self._tile(message.tile, at, changes)
            changes.beds.add(message.tile.bed)
            changes.views = True
            self.link.hear(at)
        elif isinstance(message, UnitDelta):
            self._unit(message.unit)
            changes.unit = changes.views = True
            self.link.hear(at)
        elif isinstance(message, EntryDelta):
            changes.entries.append(message.entry)
            self.link.hear(at)
        elif isinstance(message, Reached):
            self.link.reach = message.reach
            changes.unit = True
        else:
            self._answer(message, at, changes)

    def _answer(
        self,
        message: History
        | Entries
        | Load
        | Cards
        | Meant
        | News
        | CommandAnswer
        | SignedIn
        | NotUnderstood
        | SendFailed,
        at: float,
        changes: Changes,
    ) -> None:
        if isinstance(message, CommandAnswer):
            self.commands.answered(message, at)
            changes.commands = True
        elif isinstance(message, SendFailed):
            if message.command is not None:
                self.commands.failed(message.command, message.reason, at)
                changes.commands = True
        elif isinstance(message, History) and message.request.startswith(SPARK):
            self.readings.merge(message.bed, message.slot, message.width_ms, message.series)
            changes.sparks.append(message.request)
            changes.beds.add(message.bed)
        else:
            if isinstance(message, Meant) and message.meaning is not None:
                self.meant[message.meaning.bed, message.meaning.slot] = message.meaning
            changes.replies.append(message)

    def _snapshot(self, snapshot: Snapshot, at: float, changes: Changes) -> None:
        anew = snapshot.boot != self.boot
        self.boot = snapshot.boot
        self._unit(snapshot.unit)
        self.clock.hear(snapshot.hub_time, at, anew)
        fresh = {tile.bed: tile for tile in snapshot.tiles}
        for bed in self.tiles.keys() - fresh.keys():
            self.readings.forget_series(bed)
        for tile in snapshot.tiles:
            self._runs(tile)
        self.tiles = fresh
        self.readings.begin(snapshot.readings)
        self.link.hear(at, snapshot=True)
        changes.snapshot = changes.unit = changes.views = True
        changes.beds |= fresh.keys()

    def _unit(self, unit: UnitView) -> None:
        self.unit = unit
        self.clock.speed = unit.speed

    def _tile(self, tile: TileView, at: float, changes: Changes) -> None:
        before = self.tiles.get(tile.bed)
        changes.past |= self._runs(tile)
        self.tiles[tile.bed] = tile
        now = self.clock.now(at)
        if before is not None and now is not None and before.episodes != tile.episodes:
            self.changed_at[tile.bed] = now

    def _freshen(self, delta: ReadingsDelta) -> None:
        """Keep the age of a bed by what its feed reads: the hub sends a view only when more than that has changed.

        Of what is entered by hand the hub tells the age: what was drawn does not make a set younger, nor one pump's
        set another's, and at a bed with a cable no set makes the bed live.
        """
        tile = self.tiles.get(delta.bed)
        if tile is None or delta.late or delta.by_hand:
            return
        if tile.last_reading_at is None or delta.read_at > tile.last_reading_at:
            self.tiles[delta.bed] = tile.model_copy(update={"last_reading_at": delta.read_at})

    def _runs(self, tile: TileView) -> bool:
        """Forget what is over or does not fit; ``True``: the past is to be asked for again."""
        anew = self.readings.set_pace(tile.bed, tile.origin is Origin.ENTERED, tile.interval_s)
        before = self.tiles.get(tile.bed)
        was = {run.description.slot: run.description.run_id for run in before.runs} if before else {}
        stands = {run.description.slot: run.description.run_id for run in tile.runs}
        for slot, run_id in was.items():
            if stands.get(slot) != run_id:
                self.readings.forget(tile.bed, slot)
        return anew

    # -- looking --------------------------------------------------------------------------------------------

    def now(self, monotonic: float) -> Instant | None:
        """Give the hub's time, or ``None`` before the first word."""
        return self.clock.now(monotonic)

    @property
    def is_drill(self) -> bool:
        """Whether the hub says that its beds are invented, and people practise."""
        return self.unit is not None and self.unit.drill is not None

    def beds(self) -> tuple[str, ...]:
        """Give the beds in the unit's own order."""
        return self.unit.beds if self.unit is not None else ()

    def needs(self) -> list[tuple[str | None, EpisodeView]]:
        """Give every episode of the unit with its bed (``None``: the unit's own), worst first."""
        return sorted(self._episodes(), key=lambda pair: order_of_need(pair[1]))

    def person(self, name: str | None) -> PersonView | None:
        """Give a person of the roster."""
        if name is None or self.unit is None:
            return None
        return next((person for person in self.unit.people if person.name == name), None)

    def label(self, name: str | None) -> str:
        """Give how a person is written on screens; the roster name where the roster does not know it."""
        person = self.person(name)
        return person.label if person is not None else (name or say("nobody"))

    def _episodes(self) -> Iterator[tuple[str | None, EpisodeView]]:
        if self.unit is not None:
            yield from ((None, episode) for episode in self.unit.episodes)
        for bed in self.beds():
            tile = self.tiles.get(bed)
            if tile is not None:
                yield from ((bed, episode) for episode in tile.episodes)
