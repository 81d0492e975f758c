"""Invariant 4: who holds responsibility is defined at every second, or the board says that nobody does.

Random offers, acceptances, breaks, plans, reachability and changes by hand over a day, also over both nights in
which the clock is changed. The intervals that are built from the log alone must cover every second of every post
exactly once, and must say what the engine's view said in that second.
"""

import itertools
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.entries import Entry, EntryKind
from monitor.core.roster.holding import Held, holder_at, holding
from shared.instant import HOUR, MINUTE, SECOND, Instant
from tests.helpers.ward import Ward, shift

ZONE = ZoneInfo("Europe/Vienna")
DAY_S = 24 * 3600
NIGHTS = {
    "usual": datetime(2026, 6, 1, 10, tzinfo=UTC),
    "spring": datetime(2026, 3, 28, 14, tzinfo=UTC),
    "autumn": datetime(2026, 10, 24, 14, tzinfo=UTC),
}
SHIFTS = [
    shift("Day", "07:00", "19:00", charge="charge-1", nurses={"B1": "nurse-1"}),
    shift("Night", "19:00", "07:00", charge="charge-2", nurses={"B1": "nurse-3", "B2": "nurse-4"}),
    shift("Early call", "02:30", "14:00", perfusionist="perf-1"),
    shift("Late call", "14:00", "02:30", perfusionist="perf-2"),
]
NAMES = ["nurse-1", "nurse-2", "nurse-3", "nurse-4", "deputy", "charge-1", "charge-2", "perf-1", "perf-2", "int-1"]
POSTS: list[dict[str, Any]] = [
    {"rung": 2},
    {"rung": 3},
    {"rung": 4},
    {"rung": 1},
    {"rung": 1, "bed": "B1"},
    {"rung": 1, "bed": "B2"},
]

KINDS = [
    *("roster", "offer", "accept", "accept", "offer_decline", "offer_end", "break", "break", "break_end"),
    *("unreachable", "unreachable", "reachable", "plan", "plan_end"),
]


@dataclass(frozen=True)
class Act:
    after_s: int
    kind: str
    one: str
    other: str
    post: int
    minutes: int
    by_voice: bool


ACTS = st.lists(
    st.builds(
        Act,
        after_s=st.integers(0, 3 * 3600),
        kind=st.sampled_from(KINDS),
        one=st.sampled_from(NAMES),
        other=st.sampled_from(NAMES),
        post=st.integers(0, len(POSTS) - 1),
        minutes=st.integers(1, 240),
        by_voice=st.booleans(),
    ),
    max_size=40,
)


class Day:
    """A day of a ward, and what its views said: for each post the times of change and the answer from then on."""

    def __init__(self, begin: Instant) -> None:
        self.ward = Ward(SHIFTS, begin, ZONE, surgeon=None)
        self.end = begin + DAY_S * SECOND
        self.answers: list[tuple[Instant, dict[str, str | None]]] = []
        self._look()

    def play(self, acts: list[Act]) -> None:
        at = self.ward.now
        for act in acts:
            at += act.after_s * SECOND
            if at >= self.end:
                break
            self._to(at)
            self._do(act)
            self._look()
        self._to(self.end - 1)

    def _to(self, at: Instant) -> None:
        """Look at the view in the last moment before anything is due, and right after it."""
        while (due := self.ward.engine.next_deadline()) is not None and due <= at:
            if due - 1 > self.ward.now:
                self.ward.to(due - 1)
                self._look()
            self.ward.to(due)
            self._look()
        self.ward.to(at)
        self._look()

    def _look(self) -> None:
        self.answers.append((self.ward.now, {p.post.key: p.stands for p in self.ward.roster.posts}))

    def _do(self, act: Act) -> None:
        ward, roster, post = self.ward, self.ward.roster, POSTS[act.post]
        voice: dict[str, Any] = {"told_to": "charge-1"} if act.by_voice else {}
        if act.kind == "roster":
            ward.give("roster", stands=act.one if act.minutes > 60 else None, **post)
        elif act.kind == "offer":
            ward.give("offer", giver=act.one, to=act.other, posts=[post] if act.by_voice else [])
        elif act.kind in ("accept", "offer_decline", "offer_end") and roster.offers:
            one = roster.offers[act.post % len(roster.offers)]
            ward.give(act.kind, one.to, offer=one.id, **(voice if act.kind == "accept" else {}))
        elif act.kind == "break":
            ward.give("break", act.one, who=act.one, cover=act.other, minutes=5 + act.minutes % 56, **voice)
        elif act.kind == "break_end" and roster.breaks:
            ward.give("break_end", who=roster.breaks[0].who)
        elif act.kind == "unreachable":
            until = ward.now + act.minutes * MINUTE
            ward.give("unreachable", act.one, who=act.one, until=until, instead=act.other, **voice)
        elif act.kind == "reachable":
            ward.give("reachable", who=act.one)
        elif act.kind == "plan":
            begins = ward.now + (act.minutes - 60) * MINUTE
            ward.give("plan", stands=act.one, begins=begins, ends=begins + 3 * HOUR, **post)
        elif act.kind == "plan_end" and roster.plans:
            ward.give("plan_end", plan=roster.plans[0].id)

    def said(self, key: str, names: dict[str | None, int]) -> "np.ndarray[tuple[int], np.dtype[np.int16]]":
        """What the view said of a post in each second of the day, as numbers of names."""
        seconds = np.full(DAY_S, -1, dtype=np.int16)
        for at, answer in self.answers:
            seconds[-(-(at - self.ward.begin) // SECOND) :] = names[answer[key]]
        return seconds


@pytest.mark.parametrize("night", NIGHTS)
@settings(max_examples=12, deadline=None)
@given(acts=ACTS)
def test_that_every_second_of_every_post_has_one_answer_and_it_is_that_of_the_view(
    night: str, acts: list[Act]
) -> None:
    begin = round(NIGHTS[night].timestamp() * 1000)
    day = Day(begin)
    day.play(acts)
    names: dict[str | None, int] = {None: 0} | {name: n for n, name in enumerate([*NAMES, "int-2"], 1)}
    held = holding(day.ward.entries, begin, day.end)
    assert set(held) == {p.post.key for p in day.ward.roster.posts}
    for key, intervals in held.items():
        times = np.zeros(DAY_S, dtype=np.int16)
        built = np.full(DAY_S, -1, dtype=np.int16)
        for one in intervals:
            assert one.begins < one.ends
            first, last = (-(-(at - begin) // SECOND) for at in (one.begins, one.ends))
            times[first:last] += 1
            built[first:last] = names[one.person]
        assert (times == 1).all(), f"{key}: a second without an answer, or with two"
        assert (built == day.said(key, names)).all(), f"{key}: the log and the view differ"
        assert intervals[0].begins == begin
        assert intervals[-1].ends == day.end
        assert all(one.ends == other.begins for one, other in itertools.pairwise(intervals))


@settings(max_examples=10, deadline=None)
@given(acts=ACTS, night=st.sampled_from(sorted(NIGHTS)))
def test_that_a_hole_of_the_perfusionist_is_in_the_view_of_the_cover(night: str, acts: list[Act]) -> None:
    """Nobody for a second in the log is an ``empty_since`` in the view in the same second, and the reverse."""
    day = Day(round(NIGHTS[night].timestamp() * 1000))
    day.play(acts)
    held = holding(day.ward.entries, day.ward.begin, day.end)
    for cover in day.ward.engine.unit(day.ward.now).cover:
        person = holder_at(held[str(cover.rung)], day.ward.now)
        assert (cover.empty_since is not None) == (person is None)
        if cover.empty_since is not None:
            assert held[str(cover.rung)][-1].begins == cover.empty_since


def test_that_a_moment_outside_of_the_intervals_has_no_answer() -> None:
    with pytest.raises(LookupError):
        holder_at([Held(0, 10, "nurse-1")], 10)


def test_that_of_two_changes_at_one_moment_the_last_counts_and_no_change_makes_no_interval() -> None:
    def stands(at: Instant, person: str | None) -> Entry:
        return Entry(at=at, kind=EntryKind.STANDS, rung=2, person=person)

    said = [
        stands(0, "charge-1"),
        stands(10, None),
        stands(10, "charge-1"),
        stands(20, "charge-2"),
        stands(50, None),
    ]
    assert holding(said, 5, 40)["2"] == (Held(5, 20, "charge-1"), Held(20, 40, "charge-2"))
