"""The table of roles, cell by cell, on an engine: what each role may do, and in which words it is refused.

The table is common practice, no source. It stands here a second time, as people write it, so that a cell changed in
the program is found.
"""

from typing import Any, get_args

import pytest

from monitor.core.commands import CallHelp, Command
from monitor.core.entries import EntryKind
from monitor.core.grades import Role
from monitor.core.roles.table import ACT_OF, COLUMNS, TABLE, Act
from shared.entry.who import ENTERS, Enters
from shared.instant import HOUR
from tests.helpers.ward import Ward

WRITTEN = """
| see board        | y                   | y | y | y | y | y | y |
| help by hand     | y                   | y | y | y | y | y | y |
| SEEN             | own bed             | y | y | y | y | n | n |
| TAKE             | own bed             | y | in the unit | in the unit | in the unit | n | n |
| more calls       | y                   | y | y | y | y | n | n |
| emergency        | y                   | y | y | y | y | n | n |
| readings         | own bed             | y | y | n | n | n | n |
| at the bed       | own bed             | y | y | y | y | n | n |
| order            | y (with prescriber) | y | y | y | y | n | n |
| limits           | propose             | y | y | y | y | n | n |
| roster           | n                   | y | own rung | own rung | own rung | n | n |
| equipment        | note                | y | y | n | n | n | n |
| ladder, settings | n                   | n | n | n | n | n | 2 admins, not while HIGH open |
| beyond a role    | n                   | y | n | n | n | n | n |
"""
ROWS = [[cell.strip() for cell in line.strip("|").split("|")] for line in WRITTEN.strip().splitlines()]
#: Words of a cell in the program for those of the table above.
SAME = {
    "y": "yes",
    "n": "no",
    "in the unit": "in the unit; else advise",
    "y (with prescriber)": "with prescriber",
    "2 admins, not while HIGH open": "two, not while a high is open",
}
WHO = dict(zip(COLUMNS, ("nurse-1", "charge-2", "perf-2", "int-2", "surg-1", "viewer", "admin"), strict=True))
RUNG = {Role.PERFUSIONIST: 3, Role.INTENSIVIST: 4, Role.SURGEON: 5}


@pytest.fixture
def ward() -> Ward:
    """A ward with help called to B1 and B2; nurse-1 has B1, nurse-2 has B2."""
    ward = Ward()
    ward.help("B1")
    ward.help("B2")
    return ward


def everybody_here(ward: Ward, here: bool) -> None:
    """Let everybody be in the unit, or nobody but the nurses."""
    unit = ward.configuration.unit
    roles = (Role.BEDSIDE_NURSE, Role.CHARGE_NURSE)
    people = tuple(one.model_copy(update={"in_unit": here or one.role in roles}) for one in unit.people)
    ward.configuration = ward.configuration.model_copy(update={"unit": unit.model_copy(update={"people": people})})
    ward.reopen()


def commands(row: str, role: Role, bed: str, now: int) -> list[dict[str, Any]]:
    """Give commands of a row at a bed; those of the roster are about the role's own rung, or the surgeon's."""
    at = {"bed": bed}
    soon = now + HOUR
    rung = RUNG.get(role, 5)
    stands = {3: "perf-1", 4: "int-2", 5: "surg-1"}[rung]
    said: dict[str, list[dict[str, Any]]] = {
        "see board": [{"kind": "looked", **at}],
        "help by hand": [{"kind": "help", "what": "air", **at}],
        "SEEN": [{"kind": "seen", **at}, {"kind": "advise", **at}],
        "TAKE": [{"kind": "take", **at}],
        "more calls": [
            {"kind": "decline", **at},
            {"kind": "call_me", "quantity": "pump_flow", "below": 3.0, "calls": "charge-1", "until": soon, **at},
        ],
        "emergency": [
            {"kind": "off_support", **at},
            {"kind": "card_begin", "card": "air", "title": "Air", "version": 1, **at},
        ],
        "at the bed": [
            {"kind": "care_marker", "minutes": 2, **at},
            {"kind": "transport_start", "leader": "nurse-4", "back": soon, **at},
        ],
        "order": [
            {"kind": "order", "quantity": "pump_flow", "value": 4.0, "prescriber": "Intensivist 1", **at},
            {"kind": "target", "quantity": "pump_flow", "value": 4.0, **at},
        ],
        "limits": [{"kind": "limit", "rule": "flow_low", "value": 3.0, "until": soon, "reason": "as agreed", **at}],
        "roster": [
            {"kind": "roster", "rung": rung, "stands": stands},
            {"kind": "plan", "rung": rung, "stands": stands, "begins": soon, "ends": soon + HOUR},
        ],
        "beyond a role": [{"kind": "beyond_seen", "up_to": 1}],
    }
    return said[row]


def give(ward: Ward, said: dict[str, Any], person: str, **more: Any) -> str | None:
    """Give a command; an answer names what stands at the bed now."""
    if said["kind"] in ("seen", "take", "decline", "advise"):
        episode = ward.episode(said["bed"])
        said = {"alert": episode.lead, "revision": episode.revision, **said}
    return ward.give(person=person, **said, **more)


CELLS = [(cells[0], role, cell) for cells in ROWS for role, cell in zip(COLUMNS, cells[1:], strict=True)]
NO_COMMAND = ("readings", "equipment", "ladder, settings")


@pytest.mark.parametrize(("row", "role", "cell"), CELLS)
def test_that_the_program_has_the_cell_that_is_written(row: str, role: Role, cell: str) -> None:
    act = list(Act)[[cells[0] for cells in ROWS].index(row)]
    assert TABLE[act][role].value == SAME.get(cell, cell)


@pytest.mark.parametrize(("row", "role", "cell"), [one for one in CELLS if one[0] not in NO_COMMAND])
def test_that_a_role_may_do_what_its_cell_says(ward: Ward, row: str, role: Role, cell: str) -> None:
    person, here = WHO[role], row in ("TAKE", "see board", "SEEN")
    everybody_here(ward, here)
    if row == "beyond a role":
        assert (
            give(ward, {"kind": "care_marker", "bed": "B2", "minutes": 2}, "nurse-1", break_glass="alone") is None
        )
    for said in commands(row, role, "B1", ward.now):
        refusal = give(ward, said, person)
        if cell in ("n", "propose"):
            assert refusal, said
            assert refusal.endswith(" can"), refusal
        else:
            assert refusal is None, (said, refusal)
        everybody_here(ward, here)


@pytest.mark.parametrize(("row", "role", "cell"), [one for one in CELLS if one[2] == "own bed"])
def test_that_own_bed_is_no_other_bed_unless_a_reason_is_given(ward: Ward, row: str, role: Role, cell: str) -> None:
    if row in NO_COMMAND:
        return
    for said in commands(row, role, "B2", ward.now):
        refusal = give(ward, said, WHO[role])
        assert refusal is not None
        assert refusal.startswith("B2 is Nurse-2's bed, not Nurse-1's: charge nurse")
        assert refusal.endswith("can; or Nurse-1 with a reason")
        assert give(ward, said, WHO[role], break_glass="nobody else is here") is None
        beyond = ward.said(EntryKind.BEYOND_ROLE)[-1]
        assert (beyond.person, beyond.bed) == ("nurse-1", "B2")
        assert "nobody else is here" in (beyond.text or "")


@pytest.mark.parametrize("role", RUNG)
def test_that_who_is_elsewhere_takes_nothing_and_helps_by_phone(ward: Ward, role: Role) -> None:
    everybody_here(ward, False)
    refusal = give(ward, {"kind": "take", "bed": "B1"}, WHO[role])
    assert refusal == "a take is recorded by somebody in the unit; from elsewhere help by phone"
    assert give(ward, {"kind": "advise", "bed": "B1"}, WHO[role]) is None


@pytest.mark.parametrize("role", RUNG)
def test_that_own_rung_is_no_other_rung(ward: Ward, role: Role) -> None:
    label = ward.configuration.unit.people[[p.name for p in ward.configuration.unit.people].index(WHO[role])].label
    refusal = ward.give("roster", WHO[role], rung=2, stands="charge-2")
    assert refusal == f"{label} changes the roster of their own rung alone: charge nurse can"
    assert ward.give("plan", WHO[role], rung=2, stands=None, begins=ward.now, ends=ward.now + HOUR)


def test_that_an_order_of_a_bedside_nurse_names_who_ordered_it(ward: Ward) -> None:
    order = {"kind": "order", "bed": "B3", "quantity": "pump_flow", "value": 4.0}
    for prescriber in ("", "  "):
        refusal = give(ward, order, "nurse-1", prescriber=prescriber)
        assert refusal is not None
        assert "names who ordered it" in refusal
    assert give(ward, order, "nurse-1", prescriber="Intensivist 1") is None
    assert give(ward, order, "perf-1") is None


def test_that_a_limit_is_refused_to_a_bedside_nurse_with_those_who_can_set_it(ward: Ward) -> None:
    refusal = ward.give("limit_end", "nurse-1", bed="B1", rule="flow_low")
    assert refusal == (
        "Nurse-1 can propose a limit at their own bed, and not set one: "
        "charge nurse, perfusionist, intensivist or surgeon can"
    )
    assert ward.give("limit_end", "nurse-1", bed="B1", rule="flow_low", break_glass="alone") == refusal


def test_that_the_second_person_of_a_high_limit_is_one_who_may_change_limits(ward: Ward) -> None:
    limit = {"bed": "B1", "rule": "flow_very_low", "value": 2.0, "until": ward.now + HOUR, "reason": "as agreed"}
    for second in ("nurse-1", "viewer", "charge-1"):
        assert "two people" in (ward.give("limit", "charge-1", second=second, **limit) or ""), second
    assert ward.give("limit", "charge-1", second="int-1", **limit) is None


def test_that_every_command_but_help_falls_under_a_row_and_help_is_anybodys(ward: Ward) -> None:
    assert set(ACT_OF) == set(get_args(get_args(Command)[0]))
    assert ACT_OF[CallHelp] is Act.HELP
    for person in ("somebody", "viewer", "admin", "nurse-4"):
        assert ward.give("help", person, bed="B3", what="air") is None


def test_that_strangers_say_nothing_not_even_for_others(ward: Ward) -> None:
    assert ward.give("looked", "stranger", bed="B1") == "stranger is not among the unit's people"
    said = {"who": "nurse-1", "cover": "deputy", "minutes": 20}
    assert ward.give("break", "stranger", told_to="charge-1", **said) == "stranger is not among the unit's people"


# -- own bed: by post, as deputy, on a break, covering one, on the way ------------------------------------------


def test_that_a_bed_is_also_the_deputys_the_covers_and_the_leaders(ward: Ward) -> None:
    care = {"kind": "care_marker", "minutes": 1}
    assert give(ward, care | {"bed": "B1"}, "deputy") is None
    assert give(ward, care | {"bed": "B2"}, "nurse-3")
    ward.does("break", "nurse-3", who="nurse-2", cover="nurse-3", minutes=20)
    assert give(ward, care | {"bed": "B2"}, "nurse-3") is None
    assert give(ward, care | {"bed": "B2"}, "nurse-2") is None
    ward.does("transport_start", "charge-1", bed="B3", leader="nurse-4", back=ward.now + HOUR)
    assert give(ward, care | {"bed": "B3"}, "nurse-4") is None
    assert "there is no bed" in (give(ward, care | {"bed": "B99"}, "nurse-1") or "")


def test_that_at_a_bed_where_nobody_is_called_any_nurse_acts_and_the_charge_nurse_is_shown_it(ward: Ward) -> None:
    ward.does("unreachable", "nurse-1", who="nurse-1", until=ward.now + HOUR)
    ward.take("B1", "nurse-4")
    assert ward.give("care_marker", "nurse-1", bed="B4", minutes=1) is None
    assert [(one.person, one.bed, one.why) for one in ward.engine.unit(ward.now).beyond] == [
        ("nurse-4", "B1", "nobody stood at this bed"),
        ("nurse-1", "B4", "nobody stood at this bed"),
    ]


def test_that_what_belongs_to_no_bed_is_everybodys() -> None:
    ward = Ward(perfusionist=None)
    ward.after(6)
    (hole,) = ward.engine.unit(ward.now).episodes
    assert ward.give("seen", "nurse-1", alert=hole.lead, revision=hole.revision) is None


def test_that_what_is_told_by_voice_is_written_down_for_any_bed(ward: Ward) -> None:
    ward.take("B2", "nurse-1", told_to="charge-1", where="at_bed")
    assert ward.episode("B2").holder is not None
    assert ward.said(EntryKind.BEYOND_ROLE) == []


# -- the roster: one's own matters ------------------------------------------------------------------------------


def test_that_everybody_offers_accepts_and_covers_what_is_their_own(ward: Ward) -> None:
    own: list[tuple[str, dict[str, Any]]] = [
        ("nurse-1", {"kind": "offer", "giver": "nurse-1", "to": "nurse-3"}),
        ("nurse-3", {"kind": "accept", "offer": 1}),
        ("nurse-3", {"kind": "offer", "giver": "nurse-3", "to": "nurse-1"}),
        ("nurse-1", {"kind": "offer_decline", "offer": 2}),
        ("nurse-2", {"kind": "break", "who": "nurse-2", "cover": "nurse-4", "minutes": 20, "told_to": "nurse-2"}),
        ("nurse-4", {"kind": "break_end", "who": "nurse-2"}),
        ("nurse-2", {"kind": "unreachable", "who": "nurse-2", "until": ward.now + HOUR}),
        ("nurse-4", {"kind": "reachable", "who": "nurse-2"}),
    ]
    for person, said in own:
        assert give(ward, said, person) is None, said
    assert ward.said(EntryKind.BEYOND_ROLE) == []


def test_that_what_is_of_others_is_not(ward: Ward) -> None:
    ward.does("offer", "charge-1", giver="nurse-1", to="nurse-3")
    ward.does("break", "nurse-4", who="nurse-2", cover="nurse-4", minutes=20)
    ward.does("plan", "charge-1", rung=5, stands=None, begins=ward.now + HOUR, ends=ward.now + 2 * HOUR)
    plan = ward.roster.plans[0].id
    others: list[dict[str, Any]] = [
        {"kind": "offer", "giver": "nurse-2", "to": "nurse-3"},
        {"kind": "offer", "giver": None, "to": "nurse-3", "posts": [{"rung": 1, "bed": "B4"}]},
        {"kind": "offer", "giver": None, "to": "nurse-3"},
        {"kind": "offer_end", "offer": ward.roster.offers[0].id},
        {"kind": "break", "who": "nurse-1", "cover": "nurse-3", "minutes": 20},
        {"kind": "break_end", "who": "nurse-2"},
        {"kind": "unreachable", "who": "charge-1", "until": ward.now + HOUR},
        {"kind": "plan_end", "plan": plan},
        {"kind": "plan_end", "plan": 99},
    ]
    for said in others:
        for person in ("deputy", "int-1"):
            refusal = give(ward, said, person)
            assert refusal is not None, said
            assert refusal.endswith("charge nurse can"), refusal
    assert give(ward, {"kind": "plan_end", "plan": plan}, "surg-1") is None
    assert give(ward, {"kind": "unreachable", "who": "perf-1", "until": ward.now + HOUR}, "perf-2") is None
    assert give(ward, {"kind": "reachable", "who": "perf-1"}, "nurse-1") is None


def test_that_an_offer_that_is_gone_is_refused_for_that(ward: Ward) -> None:
    assert ward.give("offer_end", "nurse-1", offer=99) == "this offer is no longer open"


def test_that_anybody_clinical_fills_a_hole_and_the_charge_nurse_is_shown_it() -> None:
    ward = Ward(perfusionist=None, nurses={})
    assert ward.give("roster", "nurse-1", rung=3, stands="perf-2") is None
    assert ward.give("roster", "nurse-1", rung=1, bed="B1", stands="nurse-1") is None
    assert ward.give("roster", "nurse-1", rung=3, stands="perf-1"), "nobody is missing there any more"
    assert ward.give("roster", "nurse-1", rung=3, stands=None)
    assert ward.give("roster", "viewer", rung=1, bed="B2", stands="nurse-2")
    assert [(one.person, one.bed, one.why) for one in ward.engine.unit(ward.now).beyond] == [
        ("nurse-1", None, "nobody stood there"),
        ("nurse-1", "B1", "nobody stood there"),
    ]


# -- beyond a role: shown until seen ----------------------------------------------------------------------------


def test_that_the_charge_nurse_sees_what_was_done_beyond_a_role_once(ward: Ward) -> None:
    for number in range(43):
        ward.does("order", "nurse-1", bed="B1", quantity="pump_flow", value=4.0, prescriber="Surgeon 1")
        ward.after(21)
        ward.does("care_marker", "nurse-1", bed="B2", minutes=1, break_glass=f"why {number}")
    assert [one.why for one in ward.engine.unit(ward.now).beyond] == [f"why {number}" for number in range(3, 43)]
    ward.reopen()
    assert ward.give("beyond_seen", "nurse-1", up_to=40)
    assert ward.give("beyond_seen", "charge-1", up_to=42) is None
    assert [one.number for one in ward.engine.unit(ward.now).beyond] == [43]
    assert ward.said(EntryKind.BEYOND_SEEN)[0].text == "Seen: 39 beyond a role, to number 42"
    assert ward.give("beyond_seen", "charge-1", up_to=43) is None
    assert ward.give("beyond_seen", "charge-1", up_to=43) == "nothing is left that was done beyond a role"


def test_that_further_roles_of_a_person_count() -> None:
    ward = Ward()
    unit = ward.configuration.unit
    people = tuple(
        one.model_copy(update={"also": frozenset({Role.CHARGE_NURSE})})
        if one.name in ("nurse-1", "viewer")
        else one
        for one in unit.people
    )
    ward.configuration = ward.configuration.model_copy(update={"unit": unit.model_copy(update={"people": people})})
    ward.reopen()
    assert ward.give("care_marker", "nurse-1", bed="B2", minutes=1) is None
    assert ward.give("roster", "viewer", rung=3, stands="perf-2") is None
    assert ward.give("beyond_seen", "viewer", up_to=1) == "nothing is left that was done beyond a role"


def test_that_the_entry_form_has_the_same_cells_of_who_enters_readings() -> None:
    words = {Enters.ANY_BED: "yes", Enters.OWN_BED: "own bed", Enters.NOWHERE: "no"}
    for role in Role:
        assert words[ENTERS.get(role.value, Enters.NOWHERE)] == TABLE[Act.READINGS][role].value, role


def test_that_a_form_is_told_who_may_enter_at_a_bed_now(ward: Ward) -> None:
    at_any = {"charge-1", "charge-2", "perf-1", "perf-2"}
    nurse, names = ward.engine.entering("B1")
    assert nurse == "nurse-1"
    assert set(names) == at_any | {"nurse-1", "deputy"}
    assert ward.give(kind="roster", person="charge-1", rung=1, bed="B1", stands="nurse-2") is None
    nurse, names = ward.engine.entering("B1")
    assert nurse == "nurse-2"
    assert "nurse-1" not in names
    assert ward.give(kind="roster", person="charge-1", rung=1, bed="B1", stands=None) is None
    nurse, names = ward.engine.entering("B1")  # nobody stands there: any nurse may, in doubt
    assert nurse is None
    assert {"nurse-1", "nurse-2", "nurse-3"} <= set(names)
    assert not {"int-1", "surg-1", "viewer", "admin"} & set(names)
