"""Beds and runs as they stand now, for the entry form."""

from collections.abc import Iterable, Iterator

from monitor.hub.judge import EngineLike
from monitor.hub.views import Views
from monitor.record.latest import Latest
from shared.beds_now import BedNow, BedsNow, RoundNow, RunNow
from shared.instant import Instant


def beds_now(
    request: str, beds: Iterable[str], engine: EngineLike, views: Views, latest: Latest, now: Instant
) -> BedsNow:
    """Give the answer to a form; a bed whose view cannot be made is left out."""
    sign_in = views.sign_in()
    return BedsNow(
        request=request,
        hub_time=now,
        beds=tuple(_beds(beds, engine, views, latest, now)),
        asks=sign_in.asks if sign_in is not None else (),
        idle_s=sign_in.idle_s if sign_in is not None else 0,
        fault=sign_in.fault if sign_in is not None else "",
    )


def _beds(beds: Iterable[str], engine: EngineLike, views: Views, latest: Latest, now: Instant) -> Iterator[BedNow]:
    last = {(view.bed, view.slot): view.values for view in latest.views()}
    for bed in beds:
        tile = views.tile(bed, now)
        if tile is None:
            continue
        nurse, names = engine.entering(bed)
        runs = tuple(
            RunNow(
                run=run.description,
                last=last.get((bed, run.description.slot), {}),
                rounds=tuple(RoundNow(kind=one.kind, done_at=one.done_at, due_at=one.due_at) for one in run.rounds),
                findings=run.findings,
            )
            for run in tile.runs
        )
        yield BedNow(bed=bed, runs=runs, nurse=nurse, may_enter=names)
