"""When the mutator is content: nothing picked is no proof, and no module hides behind another."""

import pytest

from tests.mutation.__main__ import CODE, TABLES, main
from tests.mutation.shares import Share, nothing_picked, picked, verdict

FOUND = {"one.py": ["a", "b", "c"], "two.py": ["d", "e"]}


@pytest.mark.parametrize(("what", "names"), [("code", CODE), ("tables", TABLES)])
def test_that_a_name_that_nothing_has_is_refused_with_the_names_there_are(
    what: str, names: dict[str, object], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([what, "--only", "no_such"]) == 2
    told = capsys.readouterr().out.splitlines()
    assert told[0] == "--only no_such: nothing of that name is mutated; there is"
    assert [line.strip() for line in told[1:]] == list(names)


@pytest.mark.parametrize("more", [[], ["--list"], ["--every", "3"]])
def test_that_a_beginning_beyond_the_last_mutant_is_refused_with_how_many_there_are(
    more: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tables", "--only", "SUSPENDS", "--from", "1000", *more]) == 2
    told = capsys.readouterr().out
    assert told.startswith("--from is beyond the last of ")
    assert "\n  monitor/core/bedside/trials.py SUSPENDS: " in told


def test_that_how_many_there_are_is_said_of_each_module() -> None:
    assert nothing_picked("", list(FOUND), FOUND).splitlines() == [
        "--from is beyond the last of 5 mutants; there are", "  one.py: 3", "  two.py: 2",
    ]  # fmt: skip


@pytest.mark.parametrize("wrong", [["--every", "0"], ["--every", "-1"], ["--from", "-1"]])
def test_that_a_step_or_a_beginning_that_means_nothing_is_refused(
    wrong: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as refused:
        main(["tables", "--list", *wrong])
    assert refused.value.code == 2
    assert "or more" in capsys.readouterr().err


def test_that_one_in_so_many_is_counted_through_all_modules_from_the_first() -> None:
    assert picked(FOUND, 1, 0) == FOUND
    assert picked(FOUND, 2, 0) == {"one.py": ["a", "c"], "two.py": ["e"]}
    assert picked(FOUND, 2, 1) == {"one.py": ["b"], "two.py": ["d"]}
    assert picked(FOUND, 1, 3) == {"two.py": ["d", "e"]}
    assert picked(FOUND, 1, 5) == {}


@pytest.mark.parametrize(
    ("judged", "surviving", "small"), [(20, 1, True), (19, 1, False), (40, 2, True), (40, 3, False), (1, 0, True)]
)
def test_that_one_in_twenty_of_a_module_may_survive_and_no_more(judged: int, surviving: int, small: bool) -> None:
    share = Share("one.py", judged, surviving)
    assert share.is_small() is small
    assert str(share).endswith("more than one in 20") is not small
    assert f"{judged} judged, {surviving} survive" in str(share)


def test_that_a_weak_module_is_told_although_of_all_together_few_survive() -> None:
    strong, weak = Share("strong.py", 30, 0), Share("weak.py", 10, 2)
    assert Share("all", 40, 2).is_small()
    assert verdict([strong, weak], 50) == (
        "strong.py: 30 judged, 0 survive (0.0 %)\n"
        "weak.py: 10 judged, 2 survive (20.0 %), more than one in 20\n"
        "40 of 50 mutants judged",
        1,
    )
    assert verdict([strong], 30)[1] == 0
