"""A naive unit of one bed: alerts, episodes, answers and calls, by a plain reading of the rules of the game.

Written from the descriptions alone and without a line of the engine. Responsibility is found by scanning the
answers of an episode, calls by scanning its history (`naive_ladder`), conditions by `naive_rules`.
Times are whole seconds.
"""

from collections.abc import Callable, Iterator

from tests.helpers import naive_ladder as ladder
from tests.helpers.naive_ladder import Mark
from tests.helpers.naive_parts import HOLD, RANK, STEPS, Alert, Episode, TakeMade, explains
from tests.helpers.naive_rules import HELP, NO_FEED, ROWS, UNCOVERED, NaiveReadings, Row, Trial


class NaiveUnit:
    """One bed, one unit. Every act gives nothing or whether it is admitted; what it writes is in ``told``."""

    def __init__(self, roster: dict[int, str | None], deputy: str, in_unit: frozenset[str]) -> None:
        self.roster, self.deputy, self.in_unit = dict(roster), deputy, in_unit
        self.readings = NaiveReadings()
        self.told: list[tuple[object, ...]] = []
        self.alerts: list[Alert] = []
        self.episodes: list[Episode] = []
        self.silent: Alert | None = None
        self.was_silent = False
        self.empty: dict[int, int] = {}
        self.uncovered: dict[int, Alert] = {}
        self.now = 0
        self.care: list[int] = []

    # --- time, readings ---------------------------------------------------------------------------------------

    def tick(self, now: int) -> None:
        """Everything that comes with the time alone."""
        self.now = now
        self._ladders()
        self._no_answer()
        for episode in self.episodes:
            if episode.closes is not None and episode.closes <= now:
                episode.closes = None
                self._tell("episode_closed", episode)
        trial = self.readings.trial
        if trial is not None and trial.until <= now:
            self.readings.trial = None
        if not self.was_silent and self.readings.last + NO_FEED.delay <= now:
            self.was_silent, self.silent = True, self._raise(NO_FEED, "B1")
        for rung in sorted(self.empty):
            if rung in (3, 4) and rung not in self.uncovered and self.empty[rung] + UNCOVERED.delay <= now:
                self.uncovered[rung] = self._raise(UNCOVERED, None, rung=rung)

    def observe(self, values: dict[str, float]) -> None:
        if self.silent is not None:
            self._end(self.silent)
        self.silent, self.was_silent = None, False
        turns = self.readings.observe(self.now, values)
        order = {row.rule: place for place, row in enumerate(ROWS)}
        started = [turn for turn in turns if turn.started]
        started.sort(key=lambda t: (not t.row.critical, RANK[t.row.priority], order[t.row.rule]))
        for turn in started:
            self._raise(turn.row, "B1", value=turn.value)
        for turn in turns:
            if not turn.started:
                for alert in self.alerts:
                    if alert.row.rule == turn.row.rule and not alert.ended:
                        self._end(alert)
        for episode in self.episodes:
            if episode.bed:
                self._second_witness(episode)
                self._worsening(episode)
        self._ladders()

    # --- people -----------------------------------------------------------------------------------------------

    def help(self) -> bool:
        """Twenty calls for help are open at most: more than anybody means."""
        calls = [alert for episode in self.episodes for alert in episode.present if alert.row is HELP]
        if len(calls) >= 20:
            return False
        self._raise(HELP, "B1")
        return True

    def mark_care(self, minutes: int, charge: bool) -> bool:
        lately = [at for at in self.care if at > self.now - 3600]
        if len(lately) >= 3 and not charge:
            return False
        self.care = [*lately, self.now]
        self.readings.begin_care(self.now, minutes)
        return True

    def start_trial(self, kind: str, floor: float | None, minutes: int) -> bool:
        if self.readings.trial is not None:
            return False
        self.readings.trial = Trial(kind, floor if kind == "turn_down" else None, self.now + 60 * minutes)
        return True

    def end_trial(self) -> bool:
        there = self.readings.trial is not None
        self.readings.trial = None
        return there

    def stand(self, rung: int, person: str | None) -> None:
        """Put somebody or nobody on a rung."""
        left = {self.roster[rung]}
        self.roster[rung] = person
        left -= {*self.roster.values(), self.deputy}
        if rung >= 2 and person is None and rung not in self.empty:
            self.empty[rung] = self.now
            self.told.append((self.now, "uncovered", rung))
        elif rung >= 2 and person is not None and rung in self.empty:
            del self.empty[rung]
            self.told.append((self.now, "covered", rung))
            if rung in self.uncovered:
                self._end(self.uncovered.pop(rung))
        for episode in self.episodes:
            holder = episode.holder
            if holder is not None and holder.person in left:
                self._lose(episode, "hold_ended")
                self._call_all(episode)
        self._ladders()

    def seen(self, alert: Alert, person: str) -> bool:
        episode, inside = alert.episode, person in self.in_unit
        if episode is None:
            self._tell_low("seen", alert, person)
            alert.signal = "seen"
            return True
        listed = [a for a in episode.members if a.listed]
        if not inside and not episode.present and any(a.latching and a.signal == "latched" for a in listed):
            return False
        self._tell("seen", episode, person)
        reading = ladder.read(episode.history)
        called = 3 in reading.done[reading.row]
        if episode.present and not inside and episode.holder is None and called and episode.is_asked(person):
            episode.said(self.now, person, "seen")
        for other in listed:
            if other.signal == "latched" and other.latching and not inside:
                continue
            if other.row is HELP and not other.ended and episode.holder is not None and inside:
                self._end(other)
            self._review(other)
            if other.signal == "raised":
                other.signal = "seen"
        self._ladders()
        return True

    def take(self, alert: Alert, person: str, reason: str | None, where: str, told_to: str | None = None) -> bool:
        episode = alert.episode
        if (told_to or person) not in self.in_unit:
            return False
        if episode is None:
            self._tell_low("taken", alert, person)
            alert.signal = "taken"
            return True
        if where == "phone" and (episode.priority if episode.present else alert.row.priority) == "high":
            return False
        if not episode.present:
            for other in episode.members:
                self._review(other)
            return True
        holder = episode.holder
        if holder is not None and holder.person != person:
            self._tell("also_responding", episode, person)
            return True
        team = reason == "team_at_bed" and where == "at_bed" and self._rung_of(person, episode) in (2, 3, 4)
        until = self.now + (600 if team and episode.priority == "high" else HOLD[episode.priority])
        if holder is not None:
            holder.over = True
        episode.said(self.now, person, "all anew")
        episode.takes.append(TakeMade(person, self.now, until, team, self._values(episode)))
        for other in episode.present:
            other.signal = "taken"
        checked = reason == "circulation_checked" and self._rung_of(person, episode) == 1
        free = (4,) if episode.row == "one witness" and not checked else ()
        episode.history.append(Mark(self.now, "hold", time=until, rungs=free))
        self._tell("taken", episode, person, until)
        return True

    def pass_on(self, alert: Alert, person: str) -> bool:
        episode = alert.episode
        if episode is None or not episode.present:
            return False
        self._tell("declined", episode, person)
        episode.said(self.now, person, "cannot")
        if episode.holder is not None and episode.holder.person == person:
            episode.holder.over = True
            episode.history.append(Mark(self.now, "free"))
        ladder.pass_on(episode.history, self.now)
        self._ladders()
        return True

    def advise(self, alert: Alert, person: str) -> bool:
        episode = alert.episode
        if episode is None or not episode.present:
            return False
        until = None
        episode.said(self.now, person, "helps")
        if self._rung_of(person, episode) == 3:
            episode.said(self.now, person, "all anew")
        if episode.priority == "medium" and self._rung_of(person, episode) == 3:
            until = self.now + 900
            episode.history.append(Mark(self.now, "advice", time=until))
        self._tell("advised", episode, person, until)
        return True

    def renew(self, alert: Alert, person: str) -> bool:
        episode = alert.episode
        holder = episode.holder if episode is not None else None
        if episode is None or holder is None or not episode.present or person not in self.in_unit:
            return False
        high = episode.priority == "high"
        if high and holder.renewals >= 2:
            return False
        holder.renewals += 1
        holder.until = self.now + (600 if holder.team and high else HOLD[episode.priority])
        episode.history.append(Mark(self.now, "renewed", time=holder.until))
        self._tell("renewed", episode, person, holder.until)
        return True

    # --- alerts and episodes ----------------------------------------------------------------------------------

    def _raise(self, row: Row, bed: str | None, value: float = 0, rung: int = 0) -> Alert:
        backwards = row.rule == "flow_none" and value < -0.2
        alert = Alert(len(self.alerts) + 1, row, bed, self.now, row.latched or backwards, rung=rung)
        self.alerts.append(alert)
        if row.priority == "low":
            self.told.append((self.now, "raised", row.rule, None))
            return alert
        for episode in self._open(bed):
            if any(explains(member.row.rule, row.rule) for member in episode.present) or any(
                explains(row.rule, member.row.rule) and self.now - member.at <= 120 for member in episode.present
            ):
                self._join(episode, alert)
                return alert
        self._begin(self._came_back_to(alert) or self._new(bed), alert)
        return alert

    def _open(self, bed: str | None) -> list[Episode]:
        return [e for e in self.episodes if e.bed == bed and e.present]

    def _came_back_to(self, alert: Alert) -> Episode | None:
        """Within two minutes after all has ended, a condition that comes back keeps its episode."""
        for episode in self.episodes:
            waits = episode.closes is not None and not episode.present and episode.bed == alert.bed
            if waits and any((a.row.rule, a.rung) == (alert.row.rule, alert.rung) for a in episode.members):
                return episode
        return None

    def _new(self, bed: str | None) -> Episode:
        self.episodes.append(Episode(len(self.episodes) + 1, bed))
        return self.episodes[-1]

    def _begin(self, episode: Episode, alert: Alert) -> None:
        self._admit(episode, alert)
        self._tell("raised", episode, alert.row.rule)
        episode.history = [Mark(self.now, "start", row=self._row_of(episode, ""))]
        episode.words = []
        self._busy_nurse(episode, alert)
        self._ladders()

    def _join(self, episode: Episode, alert: Alert) -> None:
        before, row = episode.present, episode.row
        first_of_patient = alert.row.patient and not any(a.row.patient for a in episode.members)
        was = episode.priority
        lifted = RANK[alert.row.priority] < RANK[was]
        promoted = lifted or (alert.row.critical and not any(a.row.critical for a in before))
        self._admit(episode, alert)
        self._tell("promoted" if promoted else "folded", episode, alert.row.rule)
        if promoted:
            if episode.holder is not None:
                self._lose(episode, "hold_ended")
            episode.said(self.now, "", "all anew")
            episode.history.append(Mark(self.now, "promoted", row=self._row_of(episode, row)))
            self._busy_nurse(episode, alert)
        elif alert.row.patient and alert.row.priority == "high" and row == "high":
            episode.history.append(Mark(self.now, "forward", rung=4, time=self.now + 120))
        if first_of_patient and not promoted and was == "medium" and episode.holder is not None:
            self._lose(episode, "worsened")
            self._call_all(episode)
        self._second_witness(episode)
        self._ladders()

    def _admit(self, episode: Episode, alert: Alert) -> None:
        episode.members.append(alert)
        alert.episode, episode.closes = episode, None
        if not alert.row.critical:
            return
        if episode.usual is None and alert.bed is not None and alert.row is not HELP:
            began = self.readings.running[alert.row.rule].began
            before = self.readings.before
            usual = before("mean_arterial_pressure", began), before("inlet_pressure", began)
            if usual != (None, None):
                episode.usual = usual
        episode.witnesses = max(episode.witnesses, 2 if alert.row is HELP else self._count(episode))

    def _count(self, episode: Episode) -> int:
        """Count the signals that agree that circulation is lost."""
        live, then = self.readings.live, self.readings.last
        speed, flow = live("pump_speed", then), live("pump_flow", then)
        pressure, inlet = live("mean_arterial_pressure", then), live("inlet_pressure", then)
        drop = self.readings.drop(then)
        usual_map, usual_inlet = episode.usual or (None, None)
        return sum(
            (
                speed is not None and speed < 500,
                flow is not None and flow <= 0.5,
                drop is not None and drop < 5,
                pressure is not None and usual_map is not None and pressure <= usual_map - 15,
                inlet is not None and (inlet > 0 or (usual_inlet is not None and inlet >= usual_inlet + 30)),
            )
        )

    def _second_witness(self, episode: Episode) -> None:
        if not episode.present or episode.row != "one witness":
            return
        episode.witnesses = max(episode.witnesses, self._count(episode))
        if episode.witnesses >= 2:
            episode.history.append(Mark(self.now, "second witness", row="two witnesses"))
            self._ladders()

    def _end(self, alert: Alert) -> None:
        alert.ended = True
        if alert.row.priority == "low":
            alert.signal = "cleared"
        else:
            alert.signal = "latched" if alert.latching or alert.signal == "raised" else "cleared"
        episode = alert.episode
        self.told.append((self.now, alert.signal, alert.row.rule, episode.id if episode else None))
        if episode is None:
            return
        if not episode.present:
            episode.closes = self.now + 120
            for take in episode.takes:
                take.over = True
            return
        row = self._row_of(episode, episode.row)
        if row != episode.row:
            zero = min(a.at for a in episode.present if a.row.priority == episode.priority)
            episode.history.append(Mark(self.now, "drop", row=row, time=zero))

    def _row_of(self, episode: Episode, row: str) -> str:
        """Give the ladder's row by what is present; ``row``: the present one."""
        highs = [alert for alert in episode.present if alert.row.priority == "high"]
        if any(alert.row.critical for alert in highs):
            return row if row == "one witness" else "two witnesses" if episode.witnesses >= 2 else "one witness"
        if highs:
            patient = "patient" if all(alert.row.patient for alert in highs) else "high"
            return row if row in ("patient", "high") else patient
        first = episode.present[0].row
        if first in (NO_FEED, UNCOVERED):
            return "feed" if first is NO_FEED else "cover"
        return "console" if first.technical else "medium"

    def _review(self, alert: Alert) -> None:
        if alert.signal == "latched":
            alert.signal = "reviewed"
            self.told.append((self.now, "reviewed", alert.row.rule, alert.episode.id if alert.episode else None))

    # --- holds ------------------------------------------------------------------------------------------------

    def _values(self, episode: Episode) -> dict[tuple[str, bool], float]:
        """A value gets worse only beyond its own limit: a high MAP that rises does, one that falls does not."""
        rows = [alert.row for alert in episode.present if alert.row.quantity in STEPS]
        found = {(row.quantity, row.side == ">"): self.readings.now_of(row.quantity) for row in rows}
        return {which: value for which, value in found.items() if value is not None}

    def _worsening(self, episode: Episode) -> None:
        holder = episode.holder
        if holder is None:
            return
        for (quantity, upwards), then in holder.values.items():
            value = self.readings.now_of(quantity)
            if value is not None and (value - then if upwards else then - value) >= abs(STEPS[quantity]):
                self._lose(episode, "worsened")
                self._call_all(episode)
                return

    def _lose(self, episode: Episode, kind: str) -> None:
        holder = episode.holder
        assert holder is not None
        self._tell(kind, episode, holder.person)
        holder.over = True
        for alert in episode.present:
            alert.signal = "seen" if alert.signal == "taken" else alert.signal

    # --- calls ------------------------------------------------------------------------------------------------

    def _ladders(self) -> None:
        for episode in self.episodes:
            if episode.present:
                if ladder.hold_is_over(episode.history, self.now):
                    self._lose(episode, "hold_ended")
                    self._call_all(episode)
                self._write(episode, ladder.climb(episode.history, self.now, self._who(episode)))

    def _call_all(self, episode: Episode) -> None:
        self._write(episode, ladder.end_hold(episode.history, self.now, self._who(episode)))

    def _write(self, episode: Episode, acts: Iterator[ladder.Act]) -> None:
        for rung, person in acts:
            if rung == 3 and person:
                episode.said(self.now, person, "called")
            if episode.bed is not None:
                self._tell("called" if person else "skipped", episode, rung, person)

    def _no_answer(self) -> None:
        """Seen from elsewhere three minutes ago by the perfusionist who was called, and nothing since: the next."""
        for episode in self.episodes:
            for at, person in episode.waited_for() if episode.present and episode.holder is None else []:
                if at + 180 <= self.now:
                    episode.said(self.now, person, "no answer")
                    self._tell("no_answer", episode, person)
                    reading = ladder.read(episode.history)
                    left = [rung for rung in range(1, 6) if reading.time(rung) is not None]
                    left = [rung for rung in left if rung not in reading.done[reading.row]]
                    if left:
                        mark = Mark(self.now, "forward", rung=left[0], time=self.now, rungs=(1,))
                        episode.history.append(mark)
                    self._ladders()

    def _who(self, episode: Episode) -> Callable[[int, bool], list[str]]:
        def who(rung: int, with_deputy: bool) -> list[str]:
            own = self.roster.get(rung)
            if rung != 1:
                return [own] if own else []
            if episode.bed is None:
                return []
            if not own:
                return [self.deputy]
            besides = with_deputy or self._is_busy(own, episode)
            return [own, self.deputy] if besides else [own]

        return who

    def _is_busy(self, person: str, other_than: Episode) -> bool:
        return any(
            e is not other_than and e.present and e.priority == "high" and e.holder and e.holder.person == person
            for e in self.episodes
        )

    def _busy_nurse(self, episode: Episode, alert: Alert) -> None:
        nurse = self.roster.get(1)
        if nurse and alert.bed and alert.row.priority == "high" and self._is_busy(nurse, episode):
            episode.history.append(Mark(self.now, "forward", rung=2, time=self.now))

    def _rung_of(self, person: str, episode: Episode) -> int | None:
        if episode.bed and person in (self.roster.get(1), self.deputy):
            return 1
        return next((rung for rung in range(2, 6) if self.roster.get(rung) == person), None)

    def _tell(self, kind: str, episode: Episode, *more: object) -> None:
        self.told.append((self.now, kind, *more, episode.id))

    def _tell_low(self, kind: str, alert: Alert, person: str) -> None:
        self.told.append((self.now, kind, alert.row.rule, person, None))
