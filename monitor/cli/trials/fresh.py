"""Invariant 5: a value that is not fresh is never shown as live, and no rule speaks from it."""

from monitor.cli.trials.desk_machine import DeskMachine
from monitor.cli.trials.numbers import Given
from monitor.cli.trials.patients import NOON
from monitor.core.entries import EntryKind
from monitor.core.events import Observed
from monitor.core.rules import LimitRule, Limits
from monitor.desk.link_state import LATE_S, NOT_LIVE_S, LinkState
from monitor.desk.tile.freshness import Fresh, freshness
from monitor.desk.tile.moment import Moment
from monitor.record import Step
from monitor.rehearsal.trials.findings import Broken
from shared.instant import SECOND, Instant, ms

#: A desk's clock counts by seconds, and its link is looked at once a second.
_COARSE_MS = 2 * SECOND
#: From this true age on nothing may be judged (`no_feed` of the shipped limits), with a second for the way.
_STALE_MS = 121 * SECOND
_NEVER: tuple[Instant, Instant] = (-(10**9), -(10**15))
_TURNS = frozenset(
    {EntryKind.RAISED, EntryKind.FOLDED, EntryKind.PROMOTED, EntryKind.CLEARED, EntryKind.LATCHED}
)  # fmt: skip


class Freshness:
    """Knows when each bed was truly read last, of what the hub told."""

    def __init__(self, limits: Limits, entered_set_s: float) -> None:
        self._set_ms = ms(entered_set_s)
        self.checked = self.ages = 0
        self._rules = {rule.id for rule in limits.rules if isinstance(rule, LimitRule)}
        self._newest: dict[str, tuple[Instant, Instant]] = {}

    def told(self, bed: str, at: Instant, read_at: Instant) -> None:
        """Take readings that the hub tells: truly read at ``at``, and dated by the feed."""
        newest, dated = self._newest.get(bed, _NEVER)
        self._newest[bed] = (max(newest, at), max(dated, read_at))

    def judged(self, step: Step, given: Given | None, now: Instant, behind: int) -> None:
        """Take a step that was judged; ``given``: how the feed numbered it; ``now``: ms since the trial began.

        ``behind``: ms by which the hub's time has been behind. A set by hand is news for a while after it was read.
        """
        if not isinstance(step.event, Observed) or given is None:
            return
        one = step.event.observation
        old, allowed = now - given.at, _STALE_MS
        if one.by is not None:
            old, allowed = now - (one.read_at - NOON), self._set_ms + SECOND + behind
        for entry in step.entries:
            if entry.kind in _TURNS and entry.rule in self._rules:
                self.checked += 1
                if old > allowed:
                    words = f"{one.bed}: {entry.rule} is {entry.kind.value} by a reading"
                    raise Broken(5, f"{words} {old / 1000:.0f} s old")

    def look(self, desk: DeskMachine, now: Instant) -> None:
        """Hold a desk to it. ``now``: ms since the trial began."""
        self._link(desk, now)
        shown = desk.store.now(desk.seconds)
        if shown is None:
            return
        for bed, tile in desk.store.tiles.items():
            if freshness(tile, Moment(shown, desk.store.link.state)) is not Fresh.LIVE:
                continue
            self.checked += 1
            silent = now - desk.heard_at
            if silent > ms(LATE_S) + _COARSE_MS:
                raise Broken(5, f"{desk.name} shows {bed} as live, and has heard nothing for {silent} ms")
            newest, dated = self._newest.get(bed, _NEVER)
            allowed = ms(tile.age_from_s) + ms(LATE_S) + _COARSE_MS
            ahead = max(0, (dated - shown) + (now - newest))
            if now - newest > allowed + ahead:
                raise Broken(5, f"{desk.name} shows {bed} as live, {(now - newest) / 1000:.0f} s after it was read")

    def _link(self, desk: DeskMachine, now: Instant) -> None:
        """A hub that is silent must veil the desk in time, and what is called live be as young as the line says."""
        silent = now - max(desk.heard_at, desk.on_at)
        if silent > ms(NOT_LIVE_S) + _COARSE_MS and not desk.is_veiled:
            raise Broken(5, f"{desk.name} is not NOT LIVE, and has heard nothing for {silent} ms")
        promised = desk.age_promised()
        if promised is None or desk.store.link.state is not LinkState.LIVE:
            return
        self.ages += 1
        if now - desk.said_at > promised:
            old = (now - desk.said_at) / 1000
            raise Broken(5, f"{desk.name} calls live what the hub said {old:.1f} s ago, at most {promised} ms")
