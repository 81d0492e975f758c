"""At the end: the whole record, told again to an engine that was never killed (invariants 1, 4, 6 and 7)."""

from collections import Counter
from collections.abc import Iterable

from monitor.cli.trials.disk import TrialRecord
from monitor.cli.trials.numbers import Numbers
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.events import Commanded, Observed
from monitor.core.unit import Configuration
from monitor.hub.runner import Hub
from monitor.record import Begin
from monitor.rehearsal.trials.findings import Broken
from shared.messages import Observation


def hold_to_it(
    configuration: Configuration,
    hub: Hub,
    record: TrialRecord,
    numbers: Numbers,
    own: Counter[str],
    answered: Iterable[str],
) -> int:
    """Hold a record to what was numbered, answered and told; give how many observations were lost with a memory.

    Args:
        own: entries of the hub's own, which no engine writes.
        answered: commands that were answered as recorded.

    Raises:
        Broken: something does not hold.
    """
    found: list[Observation] = []
    commands: Counter[str] = Counter()
    written: list[str] = []
    engine: Engine | None = None
    for event, at in record.replay(0):
        if isinstance(event, Begin):
            engine = Engine(configuration, at)
            effects = engine.start(at, anew=event.anew)
        else:
            assert engine is not None
            effects = engine.handle(event, at)
        if isinstance(event, Observed):
            found.append(event.observation)
        elif isinstance(event, Commanded):
            commands[event.command.id] += 1
        written += [effect.entry.model_dump_json() for effect in effects if isinstance(effect, Persist)]
    turned_away = record.without_run()
    numbers.hold_turned_away(turned_away, record.all_entries())
    lost = numbers.at_the_end(found, turned_away)
    twice = sorted(name for name, times in commands.items() if times > 1)
    if twice:
        raise Broken(4, f"the command {twice[0]} was carried out {commands[twice[0]]} times")
    forgotten = sorted(set(answered) - commands.keys())
    if forgotten:
        raise Broken(6, f"the command {forgotten[0]} was answered as recorded and is not in the record")
    if record.verify() is not None:
        raise Broken(6, f"the chain of the log does not hold: {record.verify()}")
    _hold_log(record, written, Counter(own))
    if engine is None or hub.judge.engine.checkpoint() != engine.checkpoint():
        raise Broken(7, "the hub does not stand where one stands that was never killed")
    return lost


def _hold_log(record: TrialRecord, written: list[str], own: Counter[str]) -> None:
    log = []
    for entry in record.all_entries():
        text = entry.model_dump_json()
        if own[text]:
            own[text] -= 1
        else:
            log.append(text)
    for place, (said, again) in enumerate(zip(log, written, strict=False)):
        if said != again:
            raise Broken(7, f"entry {place} of the engine's log is {said}, and told again it is {again}")
    if len(log) != len(written):
        raise Broken(7, f"the log has {len(log)} entries of the engine, and told again {len(written)}")
