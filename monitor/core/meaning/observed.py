"""What each quantity of a run does now, against what was usual: the raw material of signs. Changes nothing.

Only what is read now counts: a reading that is missing or doubtful for longer than the table allows, that stands
still with its console, or that the console only estimates, is unknown, and no sign follows from it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import median

from monitor.analysis.baseline import Baseline
from monitor.analysis.shape import away_since, chance_jump, largest_jump, last_stretch, swinging_windows
from monitor.core.hint_state import Began, HintState, Stand
from monitor.core.judging.plan import stands_still
from monitor.core.judging.sets import first_away, is_fresh_set, readings, set_at
from monitor.core.judging.verdict import DERIVED_FROM, fitted
from monitor.core.meaning.source import Source
from monitor.core.patterns import Feature, Is, Looking, Move, Patterns
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, SECOND, Instant, ms
from shared.language.saying import say
from shared.language.writing import shortest
from shared.quantities import CATALOGUE, Scope
from shared.quantities import Quantity as Q
from shared.support import label_at

_OF_FLOW = frozenset({Q.PUMP_FLOW, Q.OXYGENATOR_RESISTANCE, Q.SPEED_YIELD})
#: Marks what is compared with the run's usual value alone.
_RUN = ":run"
_OF_TIME = frozenset({Is.SUDDEN, Is.GRADUAL, Is.LEADS})
#: Levels by which an onset is dated while readings are kept singly.
_BLOCK_MS = 10 * SECOND
#: What an order of the speed does at once is no rise of its own.
_AFTER_ORDER_MS = MINUTE
#: Least readings from which something is usual.
_LEAST_USUAL = 10


@dataclass(frozen=True, slots=True)
class Level:
    """Where a quantity is: its running median, when it was read, and what was usual (``None``: not known yet)."""

    value: float
    at: Instant
    usual: float | None

    def change(self, share: bool) -> float | None:
        """Give the change against the usual, in the unit or as a share of the usual's size."""
        if self.usual is None:
            return None
        step = self.value - self.usual
        return step if not share else step / abs(self.usual) if self.usual else None


@dataclass(slots=True)
class Observed:
    """One run at one moment. What was worked out once is kept for as long as this object lives.

    ``stood``: how each quantity that was asked for stands, to be remembered by whoever keeps the state.
    """

    source: Source
    bed: BedState
    run: RunState
    patterns: Patterns
    kept: HintState
    moves: Mapping[Q | Feature, Move] = field(default_factory=dict)
    still: bool = False
    stood: dict[str, Stand] = field(default_factory=dict)
    _levels: dict[tuple[Q, bool], Level | str] = field(default_factory=dict)
    _began: dict[Q, Began | None] = field(default_factory=dict)
    _rose: dict[Q, Instant | None] = field(default_factory=dict)
    _swings: dict[Q, list[Instant]] = field(default_factory=dict)

    @classmethod
    def at(cls, source: Source, bed: BedState, run: RunState, kept: HintState) -> "Observed":
        """Look at a run. ``kept``: what is remembered of it; it is read, not written."""
        patterns = source.configuration.patterns
        moves = {move.of: move for move in patterns.move}
        return cls(source, bed, run, patterns, kept, moves, stands_still(run))

    @property
    def looking(self) -> Looking:
        """How the signs are looked for."""
        return self.patterns.looking

    @property
    def dated(self) -> set[Q]:
        """The quantities of which some sign asks when or how their change began."""
        signs = [sign for row in self.patterns.pattern for sign in row.sign if not _OF_TIME.isdisjoint(sign.is_)]
        named = {one for sign in signs for one in (sign.of, sign.before) if isinstance(one, Q)}
        return {quantity for quantity in named if quantity in self.moves and self.owner(quantity) is not None}

    @property
    def watched_for_rise(self) -> set[Q]:
        """The quantities of which some sign asks whether they rose at once."""
        signs = (sign for row in self.patterns.pattern for sign in row.sign if Is.ROSE in sign.is_)
        return {sign.of for sign in signs if isinstance(sign.of, Q) and self.owner(sign.of) is not None}

    def owner(self, quantity: Q) -> RunState | None:
        """Give the run with which a quantity is read: the patient's own may come with the bed's other run."""
        if fitted(self.run, quantity):
            return self.run
        if CATALOGUE[quantity].scope is Scope.RUN:
            return None
        return next((run for run in self.bed.runs.values() if fitted(run, quantity)), None)

    def is_read(self, run: RunState, quantity: Q) -> bool:
        """Tell whether a quantity is among what is read now; a derived one is where all of its parts are.

        Of sets entered by hand: whether it is in the newest, and that is young enough.
        """
        if not all(self.is_read(run, part) for part in DERIVED_FROM.get(quantity, ())):
            return False
        signal = run.signals.get(quantity)
        if not signal or run.last_reading_at is None:
            return False
        timings = self.source.configuration.ladder.timings
        if self.bed.by_sets:
            return signal.last_at == set_at(run) and is_fresh_set(run, self.source.now, timings)
        allowed = max(ms(self.looking.unread_s), round(1.5 * self.bed.interval_ms))
        live = max(ms(timings.age_shown_s), round(1.5 * self.bed.interval_ms))
        return run.last_reading_at - signal.last_at <= allowed and self.source.now - signal.last_at <= live

    def level(self, quantity: Q, since_run: bool = False) -> Level | str:
        """Give where a quantity is, or in words why that is not known."""
        key = (quantity, since_run)
        if key not in self._levels:
            self._levels[key] = self._level(quantity, since_run)
        return self._levels[key]

    def _level(self, quantity: Q, since_run: bool) -> Level | str:
        run, label = self.owner(quantity), label_at(quantity, self.run.description)
        if run is None:
            return say("no {label} fitted", label=label)
        if self.still and CATALOGUE[quantity].scope is Scope.RUN:
            return say("the console's readings stand still")
        if quantity in _OF_FLOW and (flow := run.signals.get(Q.PUMP_FLOW)) and flow.estimated:
            return say("flow is the console's estimate")
        if not self.is_read(run, quantity):
            return (
                say("{label} not in the last set", label=label)
                if self.bed.by_sets
                else say("no fresh {label}", label=label)
            )
        signal, move = run.signals[quantity], self.moves.get(quantity)
        if move is not None and move.at_flow is not None:
            moved = self.level(Q.PUMP_FLOW)
            if isinstance(moved, str) or moved.value < move.at_flow:
                return (
                    moved
                    if isinstance(moved, str)
                    else say("flow is below {at_flow}", at_flow=shortest(move.at_flow))
                )
        span = ms(move.median_s) if move else _BLOCK_MS
        value = signal.median(span if span in signal.spans else signal.spans[0])
        return Level(value, signal.last_at, self._usual(run, quantity, since_run))

    def _usual(self, run: RunState, quantity: Q, since_run: bool) -> float | None:
        ordered = run.order_baselines.get(quantity) if run.orders and not since_run else None
        if ordered is not None and ordered.value is not None:
            return ordered.value
        standing = run.run_baselines.get(quantity)
        if standing is None:
            return None
        return standing.value if standing.value is not None else self._first(standing)

    def _first(self, baseline: Baseline) -> float | None:
        """Give the median of the first readings, until the baseline stands."""
        step = max(1, self.bed.interval_ms)
        most = max(_LEAST_USUAL, ms(self.looking.first_s) // step)
        first = baseline.collected[:most]
        enough = len(baseline.collected) >= min(most, 2 * _LEAST_USUAL)
        return median(first) if enough else None

    def change(self, quantity: Q, since_run: bool = False) -> float | None:
        """Give the change of a quantity as its row of the table measures it, or ``None``."""
        level, move = self.level(quantity, since_run), self.moves.get(quantity)
        return level.change(move.share) if isinstance(level, Level) and move is not None else None

    def stand(self, of: Q | Feature, change: float | None, since_run: bool = False) -> Stand | None:
        """Give how something stands, by its change; ``None``: not known. What lies between stays as it was."""
        move = self.moves.get(of)
        if change is None or move is None:
            return None
        key = f"{of.value}{_RUN}" if since_run else of.value
        side = Stand.UP if change > 0 else Stand.DOWN
        if abs(change) >= move.moved:
            found = side
        elif abs(change) <= move.still:
            found = Stand.UNCHANGED
        else:
            before = self.kept.stands.get(key)
            found = before if before in (side, Stand.UNCHANGED) else Stand.BETWEEN
        self.stood[key] = found
        return found

    def moved(self, quantity: Q, since_run: bool = False) -> bool:
        """Tell whether a quantity is known to have changed."""
        return self.stand(quantity, self.change(quantity, since_run), since_run) in (Stand.UP, Stand.DOWN)

    def began(self, quantity: Q) -> Began | None:
        """Give when a quantity left what is usual, where it has moved."""
        if quantity not in self._began:
            self._began[quantity] = self._date(quantity) if self.moved(quantity) else None
        return self._began[quantity]

    def _date(self, quantity: Q) -> Began | None:
        run, level, move = self.owner(quantity), self.level(quantity), self.moves[quantity]
        assert run is not None
        assert isinstance(level, Level)
        assert level.usual is not None  # else nobody could say that it has moved
        before = self.kept.began.get(quantity)
        still = move.still * (abs(level.usual) if move.share else 1.0)
        if self.bed.by_sets:
            return before or first_away(readings(run, quantity), level.usual, still)
        if before is not None and before.sudden:
            return before
        sudden = self._jumped(run, quantity, level.value - level.usual, before is None)
        if before is not None:
            return before if not sudden else Began(before.at, before.resolution_ms, True)
        levels, fine_from = self._levels_of(run, quantity)
        place = away_since(levels, level.usual, still)
        if place is None:
            return None
        at = levels[place][0]
        return Began(at, _BLOCK_MS if at >= fine_from else MINUTE, sudden)

    def _levels_of(self, run: RunState, quantity: Q) -> tuple[list[tuple[Instant, float]], Instant]:
        """Give minutes, then from the given time on blocks of ten seconds, each with its beginning."""
        blocks: dict[int, list[float]] = {}
        for at, value in run.signals[quantity].since(0):
            blocks.setdefault(at // _BLOCK_MS, []).append(value)
        fine = [(number * _BLOCK_MS, median(values)) for number, values in blocks.items()]
        begin = fine[0][0] if fine else self.source.now
        minutes = run.minutes.get(quantity)
        coarse = [(at - MINUTE // 2, value) for at, value in minutes.since(0)] if minutes else []
        return [*((at, value) for at, value in coarse if at + MINUTE <= begin), *fine], begin

    def _jumped(self, run: RunState, quantity: Q, change: float, first: bool) -> bool | None:
        """Tell whether a change came at once; ``None``: it cannot be told from these readings."""
        looking = self.looking
        if self.too_seldom(looking.sudden_s) or self.swings(quantity):
            return None
        signal = run.signals[quantity]
        samples = list(signal.since(signal.last_at - (5 * MINUTE if first else MINUTE)))
        chance = chance_jump(samples)
        if chance > abs(change):
            return None
        least = max(looking.sudden_share * abs(change), self._least(quantity), chance)
        fall, rise = largest_jump(samples, ms(looking.sudden_s), least)
        return (rise if change > 0 else -fall) >= least

    def _least(self, quantity: Q) -> float:
        """Give from when on a quantity counts as changed, in its unit."""
        move, level = self.moves[quantity], self.level(quantity)
        return move.moved * (abs(level.usual or 0.0) if move.share and isinstance(level, Level) else 1.0)

    def too_seldom(self, within_s: float) -> bool:
        """Tell whether readings come too seldom to say what happens within so many seconds."""
        return self.bed.by_sets or 2 * self.bed.interval_ms > ms(within_s)

    def swings(self, quantity: Q) -> bool:
        """Tell whether the readings of the last windows swing."""
        return len(self._swinging(quantity)) >= self.looking.unsteady_hits

    def _swinging(self, quantity: Q) -> list[Instant]:
        """Give the beginnings of those of the last windows that swing."""
        if quantity not in self._swings:
            self._swings[quantity] = self._windows(quantity)
        return self._swings[quantity]

    def _windows(self, quantity: Q) -> list[Instant]:
        run, looking = self.owner(quantity), self.looking
        if run is None or not run.signals.get(quantity) or quantity not in self.moves:
            return []
        if self.too_seldom(looking.unsteady_window_s):
            return []
        signal, window = run.signals[quantity], ms(looking.unsteady_window_s)
        samples = list(signal.since(signal.last_at - looking.unsteady_windows * window))
        least = looking.unsteady_moves * self._least(quantity)
        return swinging_windows(samples, window, looking.unsteady_share, least)

    def rose(self, quantity: Q) -> Instant | None:
        """Give when a quantity last rose at once, within the time for which that is remembered.

        By no order; and while it swings, only before it began to.
        """
        if quantity not in self._rose:
            self._rose[quantity] = self._last_rise(quantity)
        return self._rose[quantity]

    def _last_rise(self, quantity: Q) -> Instant | None:
        run = self.owner(quantity)
        if run is None or not run.signals.get(quantity) or quantity not in self.moves:
            return None
        signal, looking = run.signals[quantity], self.looking
        back = 5 * MINUTE if not self.kept.looked_at else MINUTE
        if any(order > signal.last_at - back - _AFTER_ORDER_MS for order in run.orders):
            return self._still_remembered(quantity)
        swinging = self._swinging(quantity)
        end = signal.last_at + 1
        if len(swinging) >= looking.unsteady_hits:
            end = last_stretch(swinging, 2 * ms(looking.unsteady_window_s))
        samples = [sample for sample in signal.since(signal.last_at - back) if sample[0] < end]
        least = max(self._least(quantity), chance_jump(samples))
        _, rise = largest_jump(samples, ms(looking.sudden_s), least)
        return signal.last_at if rise >= least else self._still_remembered(quantity)

    def _still_remembered(self, quantity: Q) -> Instant | None:
        at = self.kept.rose_at.get(quantity)
        return at if at is not None and self.source.now - at <= ms(self.looking.rose_s) else None
