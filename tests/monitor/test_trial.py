"""The whole-system trial: it holds on its seeds, it finds planted faults, and it tells the same story every time.

`WEIRKEEPER_LONG=1` plays hundreds of seeds; `python -m monitor trial` plays as many as are wanted.
"""

import logging
import os
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from feeds.journal import Journal
from monitor.cli.main import main
from monitor.cli.trial import try_plan
from monitor.cli.trials.journal import Disk, VirtualJournal
from monitor.cli.trials.patients import Units
from monitor.cli.trials.play import Trial, play
from monitor.hub.room import Room
from monitor.rehearsal.trials.findings import INVARIANTS
from monitor.rehearsal.trials.plan import NO_FAULT, SETS, Kind, Plan, draw
from monitor.rehearsal.trials.shrink import shrink
from shared.feed_talk import Kept
from shared.instant import MINUTE, SECOND
from tests.helpers.planted import PLANS, PLANTED, Planted, plan_of

CONFIG = Path(__file__).parents[2] / "config"
LONG = bool(os.environ.get("WEIRKEEPER_LONG"))
SEEDS = range(1, 301) if LONG else (1, 2, 5)
MINUTES = 10 if LONG else 3
#: What must have been done, in however few seeds.
DONE = (
    "observations", "resends asked for", "hub starts", "commands", "boards held to the log", "entries raised",
    "entries called", "calls held to their time", "alerts and holders looked for on boards",
    "tiles and turns held to their age", "boards of reviews held to the log",
    "reviews held to what their line promises", "sets by hand looked for on boards",
)  # fmt: skip


@pytest.fixture(scope="module")
def units() -> Units:
    return Units(CONFIG)


@pytest.fixture(autouse=True)
def quiet() -> Iterator[None]:
    """What hub and feeds log under faults is expected."""
    logging.disable(logging.CRITICAL)
    yield
    logging.disable(logging.NOTSET)


@pytest.mark.timeout(7200 if LONG else 120)
def test_that_all_invariants_hold_under_the_faults_of_some_seeds(units: Units) -> None:
    counts = dict.fromkeys(DONE, 0)
    for seed in SEEDS:
        outcome = play(draw(seed, MINUTES), units)
        assert outcome.invariant == 0, f"seed {seed}: {outcome.words}\n" + "\n".join(outcome.lines)
        for name in DONE:
            counts[name] += outcome.counts.get(name, 0)
    assert all(counts.values()), counts


@pytest.mark.parametrize("plan", PLANS[::3] if not LONG else PLANS)
def test_that_the_plans_that_find_planted_faults_find_nothing_without_them(plan: Plan, units: Units) -> None:
    outcome = play(plan, units)
    assert outcome.invariant == 0, outcome.words


@pytest.mark.parametrize("planted", PLANTED, ids=lambda planted: planted.name)
def test_that_a_planted_fault_is_found_and_the_right_invariant_named(planted: Planted, units: Units) -> None:
    with planted.plant():
        outcome = play(planted.plan, units)
    assert outcome.invariant == planted.invariant, outcome.words
    assert outcome.words.startswith(f"invariant {planted.invariant} ({INVARIANTS[planted.invariant]}): ")
    assert "BROKEN" in outcome.lines[-1]


def test_that_a_hub_that_stalls_takes_no_turn_meanwhile(units: Units, tmp_path: Path) -> None:
    plan = plan_of((29.8, Kind.HUB_STALLS, "hub", 0.0, 5_000, ""))
    trial = Trial(replace(plan, length=MINUTE), units, tmp_path)
    told: list[int] = []
    sends = trial._hub.sends

    def listens(room: Room, parts: list[bytes]) -> None:
        told.append(trial.timeline.now)
        sends(room, parts)

    trial._hub.sends = listens
    trial.play()
    assert [at for at in told if 29_800 < at < 34_800] == []
    assert any(28_000 < at <= 29_800 for at in told)
    assert any(34_800 <= at < 36_000 for at in told)


def test_that_a_seed_tells_the_same_story_byte_for_byte(units: Units) -> None:
    first, again = (play(draw(11, 2), Units(CONFIG)) for _ in range(2))
    assert first == again
    assert len(first.lines) > 10
    assert first.lines != play(draw(12, 2), units).lines


def test_that_a_failing_plan_becomes_as_small_as_it_can(units: Units) -> None:
    planted = next(one for one in PLANTED if one.name == "a silent hub is not noticed")
    noise = [item for item in draw(11, 2).items if item.kind in (*NO_FAULT, Kind.DOUBLE, Kind.CLOCK)]
    items = (*(replace(item, number=n, who="B1") for n, item in enumerate(noise, 10) if item.kind in
               (Kind.SITUATION, Kind.CABLE) and item.at > 60 * SECOND), *planted.plan.items)  # fmt: skip
    with planted.plant():
        tried = try_plan(replace(planted.plan, items=tuple(sorted(items, key=lambda item: item.at))), units)
    assert len(items) > 2
    assert tried.items == (1,), "the kill alone is enough"
    assert tried.outcome.invariant == 5


def test_that_shrinking_leaves_what_is_needed_and_nothing_else() -> None:
    rng = random.Random(1)
    for _ in range(50):
        things = list(range(rng.randint(1, 40)))
        needed = set(rng.sample(things, min(len(things), rng.randint(0, 3))))

        def fails(left: Sequence[int], needed: set[int] = needed) -> bool:
            return needed <= set(left)

        assert shrink(things, fails) == sorted(needed)


def test_that_the_command_tells_what_it_did_and_how_to_play_it_again(
    capsys: pytest.CaptureFixture[str],
) -> None:
    line = ["trial", "--seeds", "1", "--first", "5", "--minutes", "2", "--jobs", "1"]
    assert main(line) == 0
    said = capsys.readouterr()
    assert "1 of 1 seeds, " in said.err
    assert all(f"invariant {number}, " in said.out for number in INVARIANTS)
    assert main(["trial", "--seeds", "2", "--only", "1"]) == 2
    assert "--only belongs to one seed" in capsys.readouterr().err


def test_that_a_seed_that_fails_is_told_small_and_played_again_by_its_last_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    seed = next(n for n in range(1, 30) if any(item.what == "help" for item in draw(n, 2).items))
    first = next(item.number for item in draw(seed, 2).items if item.what == "help")
    last = draw(seed, 2).items[-1].number
    assert last != first
    line = f"trial --seeds 1 --first {seed} --minutes 2 --only {first},{last}".split()
    planted = next(one for one in PLANTED if one.name == "a call is made twice")
    with planted.plant():
        assert main(line) == 1
        told = capsys.readouterr().out
        again = next(said for said in told.splitlines() if said.startswith("Again: ./weirkeeper "))
        assert again.endswith(f"--only {first}")
        assert main(again.removeprefix("Again: ./weirkeeper ").split()) == 1
    assert "BROKEN: invariant 3" in told
    assert "invariant 3, every unanswered alert reaches its next rung on time, once: BROKEN by 1 seeds" in told
    assert capsys.readouterr().out.splitlines()[:-40] == told.splitlines()[:-40]


def test_that_a_draw_gives_every_kind_of_item_and_leaving_one_out_moves_no_other() -> None:
    plans = [draw(seed, 10) for seed in range(60)]
    assert {item.kind for plan in plans for item in plan.items} == set(Kind)
    whole = plans[7]
    assert whole.only([2, 3]).items == whole.items[1:3]
    assert draw(7, 10) == whole
    assert {len(plan.beds) for plan in plans} == {2, 3, 4}
    assert {(len(plan.desks), len(plan.reviews)) for plan in plans} == {(1, 0), (2, 0), (0, 1), (1, 1)}
    assert {item.what for plan in plans for item in plan.items if item.kind is Kind.SET} == set(SETS)
    assert {len(draw(seed, 10, 12).beds) for seed in range(200)} == set(range(2, 13))


def test_that_the_virtual_journal_does_what_the_one_on_disk_does(tmp_path: Path) -> None:
    """Random appends, reads, forgetting, new epochs and kills: both say the same."""
    rng = random.Random(3)
    path = tmp_path / "journal"
    real = Journal(path, "north")
    disk = Disk("north", real.epoch)
    dropped: list[tuple[str, int]] = []
    virtual = VirtualJournal(disk, lambda epoch, batch: None, lambda epoch, up_to: dropped.append((epoch, up_to)))
    for step in range(200):
        match rng.randrange(6):
            case 0 | 1:
                batch = [_kept(real.next_seq + n) for n in range(rng.randint(0, 4))]
                real.append(batch)
                virtual.append(batch)
            case 2:
                up_to = rng.randint(0, real.next_seq - 1)
                real.forget(up_to)
                virtual.forget(up_to)
            case 3 if rng.random() < 0.2:
                batch = [_kept(n) for n in range(1, rng.randint(1, 4))]
                real.begin_epoch(f"{step:016x}", batch)
                virtual.begin_epoch(f"{step:016x}", batch)
            case 4:
                real.close()
                real = Journal(path, "north")
                virtual = VirtualJournal(disk, lambda epoch, batch: None, lambda epoch, up_to: None)
        both: Sequence[Journal | VirtualJournal] = (real, virtual)
        assert len({(one.feed, one.epoch, one.first, one.next_seq) for one in both}) == 1
        first, last = sorted(rng.randint(1, real.next_seq) for _ in range(2))
        assert real.read(first, last) == virtual.read(first, last)
    real.close()
    assert dropped


def _kept(seq: int) -> Kept:
    return Kept(seq, "B1", b"%d" % seq)
