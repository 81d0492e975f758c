"""What the pictures show: the demonstration's day, and its night of rounds by hand, at fixed hours. Invented."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from monitor.cli.demo_folder import make_folder
from monitor.cli.manual.shown_unit import ShownUnit
from monitor.cli.played_record import write_record
from monitor.core.endpoints import Endpoints
from monitor.desk.sound.face import Check, SoundState, sound_face
from monitor.desk.unit_desk import HubGiven
from monitor.rehearsal.sources import Numbered, second_of
from monitor.rehearsal.turns import declared
from monitor.settings import load_configuration, load_entry_in, texts_in
from monitor.settings.card_files import cards_in
from shared.instant import MINUTE, SECOND, Instant
from shared.messages import Observation
from shared.scenario import Scenario, feed_of
from shared.scenario_parts import Entry
from shared.staging import StagedPump, staged_pumps

#: 2026-11-25 14:10 UTC, when the day's scenario begins; the beds have been running for two hours.
_DAY: Instant = 1_795_615_800_000
_LEAD_S, _LEAD_STEP_S = 7200, 30
#: 2026-11-24 18:30 UTC, and so many minutes later it is 03:43.
_NIGHT: Instant = 1_795_545_000_000
_NIGHT_MINUTES = 553.0
#: Of the desk's window, where a picture wants no other.
SIZE = (1366, 768)


class Course:
    """A unit that is shown, and where it has come in its scenario. ``second``: of the scenario's clock."""

    def __init__(
        self, unit: ShownUnit, scenario: Scenario, begin: Instant, pumps: list[StagedPump], lead: int = 0
    ) -> None:
        self.unit = unit
        self._scenario, self._begin, self._pumps, self._lead = scenario, begin, pumps, lead
        self._numbered, self._second = Numbered(), round((unit.now - begin) / SECOND)
        self._sets = sorted((one for one in scenario.entry), key=lambda one: one.at)

    def open(self, shipped: Path, theme: str, review: bool = False) -> None:
        """Open a desk, or a review, as people find it: its sound is checked."""
        given = HubGiven(Endpoints(), emergency_cards=lambda: cards_in(shipped))
        self.unit.open_desk(given, theme, SIZE, review)
        self.unit.window.show_sound(sound_face(SoundState.ON, Check.HEARD))

    def play_to(self, second: float, step: int = 1) -> None:
        """Play on to a second of the scenario, telling readings every ``step`` seconds."""
        while self._second < self._lead + second:
            self._second += step
            now = self._begin + self._second * SECOND
            told = list(second_of(self._scenario, self._pumps, self._second, self._begin, self._numbered))
            self.unit.pass_to(now, [*told, *self._entered()])

    def play_on(self, seconds: int) -> None:
        """Play on by so many seconds."""
        self.play_to(self._second - self._lead + seconds)

    def _entered(self) -> Iterator[Observation]:
        while self._sets and self._sets[0].at <= self._second:
            yield self._numbered.entered(self._sets.pop(0), self._begin)


def _later(scenario: Scenario, by: float) -> Scenario:
    """Put off all that happens; what is entered by hand at the beginning is entered at every hour before it too."""
    faults = tuple(one.model_copy(update={"at": one.at + by}) for one in scenario.fault)
    ramps = tuple(
        one.model_copy(update={"begins": one.begins + by, "ends": None if one.ends is None else one.ends + by})
        for one in scenario.ramp
    )
    hand = [one for one in scenario.entry if feed_of(scenario, one.bed) == "entered"][:1]
    sets = [_put_off(one, by) for one in scenario.entry]
    sets += [_put_off(one, at) for one in hand for at in range(0, round(by), 3600)]
    return scenario.model_copy(update={"fault": faults, "ramp": ramps, "entry": tuple(sets)})


def _put_off(entry: Entry, by: float) -> Entry:
    return entry.model_copy(update={"at": entry.at + by, "read_at": entry.taken_at + by})


@contextmanager
def day(shipped: Path, folder: Path) -> Iterator[Course]:
    """Give the demonstration's twelve beds as its scenario begins: second 0, after two quiet hours.

    Raises:
        ConfigurationError: the shipped folder or scenario is wrong.
        OSError: the folder cannot be written.
    """
    scenario = make_folder(shipped, shipped / "scenarios" / "demo.toml", None, Endpoints(), folder, _DAY)
    begin, configuration = _DAY - _LEAD_S * SECOND, load_configuration(folder)
    later = _later(scenario, _LEAD_S)
    pumps = staged_pumps(later, configuration.pumps)
    with ShownUnit(configuration, texts_in(folder), folder / "record.db", begin, declared(later)) as unit:
        course = Course(unit, later, begin, pumps, _LEAD_S)
        course.play_to(0, _LEAD_STEP_S)
        course.open(shipped, "day")
        yield course


@contextmanager
def night(shipped: Path, folder: Path) -> Iterator[Course]:
    """Give the unit without cables as it stood at 03:43.

    Raises:
        ConfigurationError: the shipped folder or scenario is wrong.
        OSError, RecordError: the folder cannot be written.
    """
    file = shipped / "scenarios" / "night_of_entry.toml"
    scenario = make_folder(shipped, file, None, Endpoints(), folder, _NIGHT)
    configuration = load_configuration(folder)
    played = scenario.model_copy(update={"minutes": _NIGHT_MINUTES})
    write_record(folder / "record.db", played, configuration, texts_in(folder), _NIGHT, load_entry_in(folder))
    now = _NIGHT + round(_NIGHT_MINUTES * MINUTE)
    with ShownUnit(configuration, texts_in(folder), folder / "record.db", now, declared(scenario)) as unit:
        course = Course(unit, scenario.model_copy(update={"entry": ()}), _NIGHT, [])
        course.open(shipped, "night")
        yield course
