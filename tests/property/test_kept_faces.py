"""Faces that are kept: at any later moment they are what would be made anew, or they are made anew."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from monitor.core.grades import AlertClass, Priority, TrialKind
from monitor.core.view import (
    AudioPauseView,
    LimitView,
    OffSupportView,
    OwnLimitView,
    TileView,
    TransportView,
    TrialView,
)
from monitor.core.wire import ReadingsDelta
from monitor.desk.header_face import compose_header
from monitor.desk.kept_header import KeptHeader
from monitor.desk.link_state import LinkState
from monitor.desk.sound.face import NOTHING_SAID
from monitor.desk.tile.compose import compose
from monitor.desk.tile.kept_faces import KeptFaces
from monitor.desk.tile.moment import Moment
from shared.instant import HOUR, MINUTE, SECOND
from shared.messages import Origin
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.views import NOW, episode, filled, hear, holder, latest, run, tile

#: Times about which something may turn, in ms from `NOW`: before it, at it, shortly after, and far away.
times = st.one_of(
    st.integers(-3 * SECOND, 3 * SECOND),
    st.integers(-3 * HOUR, 3 * HOUR),
    st.sampled_from([0, -SECOND, -30 * SECOND, -120 * SECOND, -15 * MINUTE, 28 * HOUR]),
).map(lambda shift: NOW + shift)
NEEDS = (
    (),
    (episode("Flow 2.2", Priority.HIGH),),
    (episode("Flow 3.4", holder=holder()),),
    (episode("Flow 3.4", seen_by=("charge",)),),
    (episode("Drain P −85", Priority.LOW),),
    (episode("No feed", alert_class=AlertClass.TECHNICAL),),
    (episode("Flow 3.4", over=True, ladder=None),),
)


@st.composite
def beds(draw: st.DrawFn) -> TileView:
    """A bed with whatever counts, ends or ages there."""
    support = draw(st.sampled_from(list(Support)))
    more: dict[str, Any] = {}
    if draw(st.booleans()):
        limit = LimitView(
            rule="inlet_low",
            priority=draw(st.sampled_from((Priority.MEDIUM, Priority.HIGH))),
            quantity=Q.INLET_PRESSURE,
            above=False,
            default=-100.0,
            own=OwnLimitView(value=-90.0, by="charge", second=None, since=NOW, until=draw(times), reason="Ordered"),
        )
        more["settable"] = (limit,)
    if draw(st.booleans()):
        more["off_support"] = OffSupportView(by="charge", since=draw(times))
    if draw(st.booleans()):
        more["trial"] = TrialView(
            kind=draw(st.sampled_from(list(TrialKind))), by="charge", second="nurse-7", began=NOW, until=draw(times)
        )
    if draw(st.booleans()):
        more["battery_empty_at"] = draw(times)
    first = run(support, days=draw(st.integers(0, 40))).model_copy(update=more)
    second = (run(Support.RA_PA, 2, 3.6),) if draw(st.booleans()) and support is Support.LV_AO else ()
    paused = AudioPauseView(by="charge", until=draw(times)) if draw(st.booleans()) else None
    transport = None
    if draw(st.booleans()):
        transport = TransportView(
            leader="charge",
            began=NOW - 20 * MINUTE,
            back=draw(times),
            ended_at=draw(st.none() | times),
            gas_empty_at=draw(st.none() | times),
            silent_since=draw(st.none() | times),
        )
    return tile(
        "B7",
        runs=draw(st.sampled_from([(first, *second)] * 9 + [()])),
        episodes=draw(st.sampled_from(NEEDS)),
        origin=draw(st.sampled_from(list(Origin))),
        last_reading_at=draw(st.none() | times),
        age_from_s=draw(st.sampled_from((0.5, 30.0, 29.999))),
        stale_after_s=draw(st.sampled_from((1.5, 120.0, 119.999))),
        stale=draw(st.booleans()),
        judged=draw(st.sampled_from((31, 12))),
        care_until=draw(st.none() | times),
        audio_paused=paused,
        transport=transport,
    )


@given(
    view=beds(),
    read_at=times,
    on_mains=st.sampled_from((0.0, 1.0)),
    changed=st.none() | times,
    begin=times,
    later=st.lists(st.sampled_from((1, 250, 1000, 4000, 31_000, 60_000, HOUR)), min_size=1, max_size=6),
    link=st.sampled_from(list(LinkState)),
)
def test_that_a_kept_face_is_the_one_that_would_be_made_anew(
    view: TileView,
    read_at: int,
    on_mains: float,
    changed: int | None,
    begin: int,
    later: list[int],
    link: LinkState,
) -> None:
    readings = [latest("B7", one.description.slot, read_at, on_mains=on_mains) for one in view.runs]
    store = filled([view], readings, trends=False)
    if changed is not None:
        store.changed_at["B7"] = changed
    faces, now = KeptFaces(store), begin
    for step in later:
        assert faces.face(view, Moment(now, link)) == compose(view, store, Moment(now, link))
        until = _stands_until(view, store, now, link)
        for near in (now + 1, until - 1, until, now + step):
            if near > now:
                assert faces.face(view, Moment(near, link)) == compose(view, store, Moment(near, link))
                now = near
    assert faces.face(view, Moment(now, LinkState.NOT_LIVE)) == compose(
        view, store, Moment(now, LinkState.NOT_LIVE)
    )


@given(
    view=beds(),
    begin=times,
    steps=st.lists(st.tuples(st.sampled_from((1, 250, 1000, 31_000, HOUR)), st.booleans()), min_size=1, max_size=6),
    link=st.sampled_from(list(LinkState)),
)
def test_that_after_a_reading_alone_a_kept_face_is_the_one_that_would_be_made_anew(
    view: TileView, begin: int, steps: list[tuple[int, bool]], link: LinkState
) -> None:
    store = filled([view], trends=False)
    faces, now = KeptFaces(store), begin
    for seq, (step, is_late) in enumerate(steps):
        assert faces.face(store.tiles["B7"], Moment(now, link)) == compose(
            store.tiles["B7"], store, Moment(now, link)
        )
        now += step
        if view.runs:
            read_at = now - HOUR if is_late else now
            values = {Q.PUMP_FLOW: 4.0 + seq / 10, Q.ON_MAINS: float(is_late)}
            slot = view.runs[0].description.slot
            hear(store, ReadingsDelta(boot="b", seq=seq + 2, bed="B7", slot=slot, read_at=read_at, values=values))
            faces.forget(["B7"])
        assert faces.face(store.tiles["B7"], Moment(now, link)) == compose(
            store.tiles["B7"], store, Moment(now, link)
        )


@given(view=beds(), begin=times, steps=st.lists(st.sampled_from((1, 250, 1000, 60_000)), min_size=1, max_size=6))
def test_that_a_kept_header_is_the_one_that_would_be_composed_anew(
    view: TileView, begin: int, steps: list[int]
) -> None:
    store = filled([view], trends=False)
    header, now = KeptHeader(store), begin
    for step in (0, *steps):
        now += step
        kept = header.face(Moment(now), 0.0, NOTHING_SAID, anew=False)
        assert kept == compose_header(store, Moment(now), 0.0)


def _stands_until(view: TileView, store: Any, now: int, link: LinkState) -> int:
    """Give when a face made now is said to be over, by asking: within a day of it."""
    made_of = Moment(now, link)
    compose(view, store, made_of)
    low, high = now, now + 24 * HOUR
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if Moment(middle, link).leaves(made_of) else (low, middle)
    return high


def test_that_a_quiet_bed_stands_until_its_readings_age_and_a_need_counts_with_the_second() -> None:
    quiet = tile("B7", last_reading_at=NOW)
    store = filled([quiet], [latest("B7", read_at=NOW)], trends=False)
    assert _stands_until(quiet, store, NOW + 10, LinkState.LIVE) == NOW + 30 * SECOND
    needs = tile("B7", last_reading_at=NOW, episodes=NEEDS[1])
    assert _stands_until(needs, filled([needs]), NOW + 10, LinkState.LIVE) == NOW + SECOND


def test_that_a_face_is_made_anew_after_news_of_its_bed_alone() -> None:
    views = [tile(bed, last_reading_at=NOW) for bed in ("B1", "B2")]
    store = filled(views, [latest(bed, read_at=NOW) for bed in ("B1", "B2")], trends=False)
    faces, moment = KeptFaces(store), Moment(NOW + 10)
    first = {view.bed: faces.face(view, moment) for view in views}
    for bed in first:
        hear(store, ReadingsDelta(boot="b", seq=2, bed=bed, slot=1, read_at=NOW + 5, values={Q.PUMP_FLOW: 3.0}))
    faces.forget(["B2"])
    assert faces.face(store.tiles["B1"], moment) is first["B1"], "nobody has said that it changed"
    assert faces.face(store.tiles["B2"], moment).trends[0].numbers[0].value == "3.0"
    faces.forget()
    assert faces.face(store.tiles["B1"], moment).trends[0].numbers[0].value == "3.0"
