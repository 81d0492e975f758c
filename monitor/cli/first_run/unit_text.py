"""The text of a first ``unit.toml``, with words for whoever goes on writing it."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from monitor.cli.demo_folder import toml_of
from monitor.cli.first_run.questions import Answers
from shared.language.saying import say, to_say
from shared.language.station import AS_WRITTEN, Asked

_HEAD = """\
# Written from the answers of a first start. Beds, people and telephone numbers are yours to change here; all that
# can be said stands in the manual of the configuration (config/README.md). `./weirkeeper check` tells what is
# wrong, line by line. A second look only: the bedside console is the alarm.

"""
_BEDS = """
# --- beds: in the order in which they stand. A run is started at the desk (M, then S); or name it here.
"""
_PEOPLE = """
# --- people: roster names and roles, never a person's own name. in_unit: at the beds, and so able to take an alert.
"""
_ROSTER = """
# --- who stands on each rung as the hub first starts; later at the desk (key R). A rung left out has nobody.
"""
_SHIFTS = """
# --- shifts of every day, by the clock on the wall. Whoever is planned is asked; nobody's acceptance is assumed.
"""
#: Rung, whose number it is, the role, at the beds, in the words of ``unit.toml``; how each is called on the board.
_CALLED = (
    ("charge", "charge nurse", "charge_nurse", True, to_say("Charge {number}")),
    ("perfusionist", "perfusionist", "perfusionist", False, to_say("Perfusionist {number}")),
    ("intensivist", "intensivist", "intensivist", True, to_say("Intensivist {number}")),
    ("surgeon", "surgeon", "surgeon", False, to_say("Surgeon {number}")),
)
#: Posts that another person has by night.
_BY_SHIFT = ("charge", "intensivist")


def unit_text(answers: Answers, spoken: Asked = AS_WRITTEN) -> str:
    """Write the file. ``spoken``: the language of the screens, in which people and shifts are named."""
    head: dict[str, Any] = {"name": answers.name, "time_zone": answers.zone}
    if spoken != AS_WRITTEN:
        head |= asdict(spoken)
    if "desk" in answers.phones:
        head["phone"] = answers.phones["desk"]
    called = [row for row in _CALLED if row[1] in answers.phones]
    roster = {"deputy": "deputy"} | {rung: f"{rung}-1" for rung, *_ in called}
    by_shift = [rung for rung, *_ in called if rung in _BY_SHIFT]
    shifts = [
        (say("Day"), answers.day, answers.night, "1"),
        (say("Night"), answers.night, answers.day, "2"),
    ]
    return "".join(
        [
            _HEAD, toml_of(head), _BEDS,
            *(_table("bed", bed) for bed in _beds(answers)), _PEOPLE,
            *(_table("person", person) for person in _people(answers, called)), _ROSTER,
            "\n[roster]\n", toml_of(roster), _SHIFTS,
            *(
                _table("shift", {"name": name, "begins": begins, "ends": ends}
                | {rung: f"{rung}-{number}" for rung in by_shift})
                for name, begins, ends, number in shifts
            ),
        ]
    )  # fmt: skip


def _table(name: str, rows: dict[str, Any]) -> str:
    return f"\n[[{name}]]\n{toml_of(rows)}"


def _beds(answers: Answers) -> Iterator[dict[str, Any]]:
    for number, label in enumerate(answers.beds, start=1):
        by_hand: dict[str, Any] = {"entered_by_hand": True} if label in answers.by_hand else {}
        yield {"label": label, "nurse": f"nurse-{number}"} | by_hand


def _people(answers: Answers, called: list[tuple[str, str, str, bool, str]]) -> Iterator[dict[str, Any]]:
    for number, _ in enumerate(answers.beds, start=1):
        yield {"name": f"nurse-{number}", "label": say("Nurse {number}", number=number), "role": "bedside_nurse"}
    yield {"name": "deputy", "label": say("Deputy"), "role": "bedside_nurse"}
    for rung, title, role, in_unit, label in called:
        for number in (1, 2) if rung in _BY_SHIFT else (1,):
            there: dict[str, Any] = {} if in_unit else {"in_unit": False}
            yield (
                {"name": f"{rung}-{number}", "label": say(label, number=number), "role": role}
                | there
                | {"phone": answers.phones[title]}
            )
