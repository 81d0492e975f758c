"""A desk whose picture is whole has the hub's, and no word takes back what was shown, over all its starts."""

from dataclasses import dataclass, field

from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.core.view import TileView
from monitor.core.wire import Beat, Delta, Snapshot, TileDelta
from monitor.desk.sync import Following, Sync
from tests.helpers.views import NOW, tile, unit

BEDS = ("B1", "B2")


@dataclass
class Hub:
    """It counts from 1 in each start, and knows how every bed stands."""

    boot: int = 0
    seq: int = 0
    stands: dict[str, TileView] = field(default_factory=lambda: {bed: tile(bed) for bed in BEDS})

    def change(self, bed: str) -> Delta:
        self.stands[bed] = tile(bed, judged=self.stands[bed].judged + 1)
        self.seq += 1
        return TileDelta(boot=str(self.boot), seq=self.seq, tile=self.stands[bed])

    def beat(self) -> Delta:
        return Beat(boot=str(self.boot), seq=self.seq, hub_time=NOW)

    def snapshot(self, request: str = "r") -> Snapshot:
        return Snapshot(
            request=request,
            seq=self.seq,
            boot=str(self.boot),
            hub_time=NOW,
            unit=unit(BEDS),
            tiles=tuple(self.stands.values()),
            readings=(),
        )

    def start_again(self, bed: str) -> None:
        """What changed meanwhile was told to nobody."""
        self.change(bed)
        self.boot, self.seq = self.boot + 1, 0


HEARD = ("hear", "hear", "hear", "hear", "lose", "hear twice", "overtake")
steps = st.one_of(
    st.tuples(st.just("change"), st.sampled_from(BEDS)),
    st.tuples(st.sampled_from(["start", "change"]), st.sampled_from(BEDS)),
    st.tuples(st.sampled_from(["beat", "ask", "ask"])),
    st.tuples(st.sampled_from(["answer", "answer", "answer twice", "answer overtakes"])),
    st.tuples(st.sampled_from(HEARD), st.integers(0, 5)),
    st.tuples(st.sampled_from(HEARD), st.integers(0, 5)),
)


@settings(max_examples=600)
@given(st.lists(steps, max_size=50))
def test_that_a_picture_that_is_called_whole_is_the_hubs(play: list[tuple[str, ...]]) -> None:
    hub, sync = Hub(), Sync()
    line: list[Delta] = []
    answers: list[Snapshot] = []
    shown: dict[str, TileView] = {}

    def show(given: list[Snapshot | Delta] | list[Delta]) -> None:
        for one in given:
            views = one.tiles if isinstance(one, Snapshot) else (one.tile,) if isinstance(one, TileDelta) else ()
            for view in views:
                before = shown.get(view.bed)
                assert before is None or before.judged <= view.judged, "what was shown is taken back"
                shown[view.bed] = view

    for at, (word, *more) in enumerate(play):
        if word == "change":
            line.append(hub.change(str(more[0])))
        elif word == "start":
            hub.start_again(str(more[0]))
        elif word == "beat":
            line.append(hub.beat())
        elif word == "ask":
            if sync.must_ask(at):
                sync.asked(f"r{at}", at)
                answers.append(hub.snapshot(f"r{at}"))
        elif word.startswith("answer"):
            if answers:
                place = -1 if word == "answer overtakes" else 0
                show(sync.snapshot(answers[place] if word == "answer twice" else answers.pop(place)))
        elif line:
            place = int(more[0]) % len(line) if word == "overtake" else 0
            one = line[place] if word == "hear twice" else line.pop(place)
            if word != "lose":
                show(sync.delta(one))
        if sync.state is Following.FOLLOWING and (sync.boot, sync.seq) == (str(hub.boot), hub.seq):
            assert shown == hub.stands


def test_that_what_was_kept_of_another_start_is_not_laid_over_a_new_picture() -> None:
    """The hub was killed while a desk waited for its answer; its numbers begin anew and come to the same ones."""
    hub, sync = Hub(), Sync()
    sync.asked("r", 0.0)
    sync.snapshot(hub.snapshot())
    hub.change("B1")
    for _ in range(3):
        assert sync.delta(hub.change("B2")) == []
    sync.asked("r", 2.0)
    hub.start_again("B2")
    hub.change("B1")
    assert sync.snapshot(answer := hub.snapshot()) == [answer]
    assert sync.delta(last := hub.change("B2")) == [last]
    assert sync.gaps == 1
