"""Judge mutants: ``python -m tests.mutation tables`` or ``code``, and list those that no test finds.

    python -m tests.mutation tables [--only limits.toml] [--every 3] [--from 0]
    python -m tests.mutation code   [--only ladder.py]   [--every 5]

``--every``: one mutant in so many, counted from ``--from``, so that two runs may share the work. Exit status 0
where of each module or table no more than one mutant in twenty survives, 1 where more do of any, 2 where nothing
could be judged.
"""

import argparse
import importlib
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.mutation import python_code, python_tables, toml_tables
from tests.mutation.judge import Judge
from tests.mutation.mutant import Mutant
from tests.mutation.shares import Share, nothing_picked, picked, verdict
from tests.mutation.warm import let_pass

ROOT = Path(__file__).parents[2]
_M, _P = "tests/monitor/test_", "tests/property/test_"
#: What is mutated -> the tests that judge it, the quickest first.
TABLES: dict[str, tuple[str, ...]] = {
    "config/limits.toml": ("tests/published/test_limits.py", f"{_M}config_shipped.py"),
    "config/ladder.toml": (f"{_M}config_shipped.py", f"{_M}ladder.py", f"{_M}answers.py"),
    "monitor/core/alerts/alert.py CONDITION": (f"{_M}alert_tables.py", f"{_M}answers.py", f"{_M}episodes_apart.py"),
    "monitor/core/alerts/alert.py SIGNAL": (f"{_M}alert_tables.py", f"{_M}answers.py", f"{_P}engine_machine.py"),
    "monitor/core/bedside/trials.py SUSPENDS": (f"{_M}bedside_tables.py",),
    "monitor/core/bedside/care.py MADE_BY": (f"{_M}bedside_tables.py",),
    "monitor/core/equipment/state.py ITEM": (f"{_M}equipment.py", f"{_P}equipment_places.py"),
    "shared/feed_link.py FEED_TABLE": ("tests/shared/test_link.py", "tests/shared/test_link_property.py"),
    "shared/link.py HUB_TABLE": ("tests/shared/test_link.py", "tests/shared/test_link_property.py"),
    "shared/entry/draft.py TABLE": ("tests/shared/test_entry_draft.py",),
    "shared/entry/versions.py TABLE": ("tests/shared/test_entry_versions.py",),
}
#: What people answer, and whom an alert calls: quick tests of the whole engine.
_ANSWERS = (
    f"{_M}answers.py",
    f"{_M}episode_edges.py",
    f"{_M}episodes_apart.py",
    f"{_M}lows.py",
    f"{_M}reasons.py",
    f"{_M}roster_reach.py",
)
_JUDGED = (f"{_M}judging_edges.py", f"{_M}own_limits.py", f"{_M}stops_and_floors.py", f"{_M}care_delay.py")
_STILL = "tests/monitor/test_rehearse_courses.py::test_that_"
_TYPED = tuple(
    f"tests/shared/test_entry_{part}.py"
    for part in ("checks", "words", "beds_and_times", "scenario", "draft", "rounds", "edges", "practice")
)
_ENTRY = (
    *("ranges", "slips", "crossing", "another_bed", "judging"),
    *("known", "times", "draft", "computed", "due", "answers"),
)
CODE: dict[str, tuple[str, ...]] = {
    **{f"shared/entry/{part}.py": _TYPED for part in _ENTRY},
    "shared/entry/typed.py": ("tests/shared/test_entry_typed.py",),
    "shared/entry/versions.py": ("tests/shared/test_entry_versions.py",),
    "monitor/core/alerts/alert.py": (f"{_M}alert_tables.py", *_ANSWERS),
    "monitor/core/alerts/ladder.py": (f"{_M}ladder.py", f"{_M}ladder_passed_on.py", *_ANSWERS),
    "monitor/core/alerts/episodes.py": (
        f"{_M}episode_life.py",
        f"{_M}witnesses_join.py",
        *_ANSWERS,
        f"{_M}rules_gone.py",
    ),
    "monitor/core/alerts/answers.py": (
        *_ANSWERS,
        f"{_M}ladder_passed_on.py",
        f"{_M}holds_worse.py",
        f"{_M}episode_life.py",
        f"{_M}engine_refusals.py",
        f"{_M}engine_notes.py",
    ),
    "monitor/core/alerts/worse.py": (
        f"{_M}holds_worse.py",
        f"{_M}calls_written.py",
        *_ANSWERS,
        f"{_M}judging_edges.py",
    ),
    "monitor/core/alerts/witnesses.py": (f"{_M}witnesses.py", *_ANSWERS),
    "monitor/core/roster/cover.py": (
        f"{_M}cover.py",
        f"{_M}roster_reach.py",
        f"{_M}roster_offers.py",
        f"{_M}roster_breaks.py",
        f"{_M}engine_refusals.py",
        *_ANSWERS,
    ),
    "monitor/core/alerts/no_answer.py": (f"{_M}no_answer.py", f"{_M}roster_reach.py"),
    "monitor/core/alerts/calls.py": (f"{_M}calls_written.py", *_ANSWERS),
    "monitor/core/alerts/gone_rules.py": (f"{_M}rules_gone.py", f"{_M}engine_anew.py", *_ANSWERS),
    "monitor/core/alerts/links.py": (f"{_M}explained_by.py", f"{_M}config_shipped.py"),
    **{
        f"monitor/core/equipment/{part}.py": (
            f"{_M}equipment.py",
            f"{_M}equipment_ready.py",
            f"{_M}capacity.py",
            f"{_M}settings_equipment.py",
        )
        for part in ("acts", "capacity", "standing", "state", "stock", "table", "views")
    },
    "monitor/core/judging/silence.py": (
        f"{_M}silence.py",
        f"{_M}rungs_empty.py",
        f"{_M}board_blind.py",
        f"{_M}rules_gone.py",
        f"{_M}judging_edges.py",
        f"{_M}roster_reach.py",
        f"{_M}due.py",
        f"{_M}late_sets.py",
        f"{_STILL}eight_lost_feeds_are_one_alert_for_the_unit",
        f"{_STILL}a_transport_calls_its_leader_and_asks_for_a_return_check",
        f"{_STILL}an_open_pump_stop_climbs_on_while_its_feed_is_cut",
    ),
    "monitor/core/judging/limits.py": (
        f"{_M}judges_of_limits.py",
        *_JUDGED,
        f"{_M}answers.py",
        f"{_STILL}an_ordered_turn_down_raises_nothing_and_reminds_of_the_low_flow",
        f"{_STILL}a_retrograde_trial_is_quiet_until_it_is_over",
    ),
}


def of_table(name: str) -> Iterator[Mutant]:
    path, _, table = name.partition(" ")
    return python_tables.mutants(ROOT, path, table) if table else toml_tables.mutants(ROOT, path)


def of_module(name: str) -> Iterator[Mutant]:
    return python_code.mutants(ROOT, name)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation", description=(__doc__ or "").partition("\n")[0]
    )
    parser.add_argument("what", choices=["tables", "code"])
    parser.add_argument("--only", default="", metavar="PART", help="those whose name has this part")
    parser.add_argument("--every", type=_one_or_more, default=1, metavar="N", help="one mutant in so many")
    parser.add_argument("--from", type=_none_or_more, default=0, metavar="K", dest="first", help="begin with this")
    parser.add_argument("--list", action="store_true", help="list the mutants, judge none")
    asked = parser.parse_args(arguments)
    begun = time.monotonic()
    table, of = (TABLES, of_table) if asked.what == "tables" else (CODE, of_module)
    found = {name: list(of(name)) for name in table if asked.only in name}
    by_name = picked(found, asked.every, asked.first)
    if not by_name:
        sys.stdout.write(f"{nothing_picked(asked.only, list(table), found)}\n")
        return 2
    if asked.list:
        sys.stdout.write("".join(f"{mutant}\n" for mutants in by_name.values() for mutant in mutants))
        return 0
    for module in ("pytest", "hypothesis", "pydantic.root_model", "pydantic.type_adapter", "numpy", "zmq"):
        importlib.import_module(module)
    shares: list[Share] = []
    with tempfile.TemporaryDirectory() as folder:
        judge = Judge(ROOT, Path(folder))
        for tests in sorted({table[name] for name in by_name}):
            if not judge.passes(tests):
                sys.stdout.write(f"without any mutant these do not pass: {' '.join(tests)}\n")
                return 2
        for name, mutants in by_name.items():
            # a table in Python is made while its module is imported: only a fresh start sees it changed
            passed = mutants if " " in name else let_pass(judge.copy, mutants, table[name])
            surviving = sum(_survives(judge, mutant, table[name]) for mutant in passed)
            shares.append(Share(name, len(mutants), surviving))
    told, status = verdict(shares, sum(map(len, found.values())))
    sys.stdout.write(f"{told} in {time.monotonic() - begun:.0f} s\n")
    return status


def _one_or_more(text: str) -> int:
    if (number := int(text)) < 1:
        raise argparse.ArgumentTypeError("one or more")
    return number


def _none_or_more(text: str) -> int:
    if (number := int(text)) < 0:
        raise argparse.ArgumentTypeError("0 or more")
    return number


def _survives(judge: Judge, mutant: Mutant, tests: tuple[str, ...]) -> bool:
    survives = judge.survives(mutant, tests)
    if survives:
        sys.stdout.write(f"SURVIVES {mutant}\n")
        sys.stdout.flush()
    return survives


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
