"""From what the hub said to the face of a tile."""

from dataclasses import replace

from monitor.core.view import TileView
from monitor.desk import words
from monitor.desk.need import leading
from monitor.desk.off_support import off_words
from monitor.desk.paint.staff import REST
from monitor.desk.sound.paused import pause_words
from monitor.desk.standing import (
    back_words,
    ending,
    gas_words,
    high_limits,
    missing_words,
    no_feed_words,
    trial_words,
)
from monitor.desk.store import Store
from monitor.desk.tile.face import Face, Foot, FootFace, NeedFace
from monitor.desk.tile.frame import Frames
from monitor.desk.tile.freshness import Fresh, freshness
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import foot_of_need, need_face, staff_picture
from monitor.desk.tile.numbers import Numbers
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say, to_say
from shared.look.marks import Mark
from shared.look.palette import StateHue
from shared.messages import Origin
from shared.support import SUPPORT_LABEL

#: How long a tile keeps its bar after its needs have changed.
CHANGED_FOR_MS = MINUTE

_ORIGINS = {
    Origin.SIMULATED: (Mark.SIMULATED, StateHue.SIMULATED, to_say("SIMULATED")),
    Origin.REPLAYED: (Mark.SIMULATED, StateHue.SIMULATED, to_say("A recording, replayed")),
    Origin.ENTERED: (Mark.HAND_ENTERED, StateHue.HAND_ENTERED, to_say("Entered by hand")),
}


def compose(tile: TileView, store: Store, moment: Moment, frames: Frames | None = None) -> Face:
    """Make the face of a bed at a moment; ``frames`` keep what follows from its runs alone."""
    return with_numbers(compose_words(tile, store, moment), tile, store, moment, frames)


def compose_words(tile: TileView, store: Store, moment: Moment) -> Face:
    """Make the face without what is read: of a bed that is read, no reading changes these words."""
    if not tile.runs:
        return _no_run(tile, moment)
    need = need_face(tile, moment) or _state_row(tile, moment)
    origin = _ORIGINS.get(tile.origin) if tile.origin is not None else None
    changed = store.changed_at.get(tile.bed)
    return Face(
        bed=tile.bed,
        support=support_words(tile, moment),
        who=store.label(tile.nurse) if tile.nurse is not None else say("no nurse named"),
        gas=_on_the_way(tile, moment) if leading(tile) is not None else "",
        fresh="",
        fresh_bold=False,
        need=need,
        staff=staff_picture(tile, moment),
        trends=(),
        plain=(),
        power=None,
        foot=_foot(tile, store, moment),
        origin_mark=origin[0] if origin is not None and need.mark is not origin[0] else None,
        origin=origin[2] if origin is not None and need.mark is not origin[0] else "",
        changed=not moment.veiled and changed is not None and _is_new(changed, moment),
        veiled=moment.veiled,
        paused="" if moment.veiled or tile.audio_paused is None else pause_words(tile, moment.now),
        off=off_words(tile, moment),
    )


def with_numbers(face: Face, tile: TileView, store: Store, moment: Moment, frames: Frames | None = None) -> Face:
    """Give a face of words its numbers, and how fresh they are."""
    if face.no_run:
        return face
    numbers = Numbers(tile, store, moment, frames)
    fresh, bold = _fresh_words(tile, moment, store.is_drill)
    trends, plain, power = numbers.trends(), numbers.plain(), numbers.power()
    return replace(face, fresh=fresh, fresh_bold=bold, trends=trends, plain=plain, power=power)


def _is_new(changed: Instant, moment: Moment) -> bool:
    return moment.has_come(changed) and not moment.has_come(changed + CHANGED_FOR_MS)


def _no_run(tile: TileView, moment: Moment) -> Face:
    return Face(
        bed=tile.bed,
        support="",
        who="",
        fresh=say("not live") if moment.veiled else "",
        fresh_bold=moment.veiled,
        need=NeedFace(title=say("No support run here. Nothing is watched.")),
        staff=REST,
        trends=(),
        plain=(),
        power=None,
        foot=FootFace(Foot.QUIET, ("",)),
        no_run=True,
        veiled=moment.veiled,
    )


def support_words(tile: TileView, moment: Moment) -> str:
    """Give what supports the patient and for how long: ``VA · day 3``."""
    labels = " + ".join(say(SUPPORT_LABEL[run.description.support]) for run in tile.runs)
    started = [run.description.started_at for run in tile.runs if run.description.started_at is not None]
    if not started:
        return labels
    day = 1 + moment.whole(min(started), 24 * HOUR)
    return say("{labels} · day {day}", labels=labels, day=max(1, day))


def _fresh_words(tile: TileView, moment: Moment, invented: bool) -> tuple[str, bool]:
    """Give how fresh the readings are in words, and whether they stand in bold: something is missing."""
    fresh, since = freshness(tile, moment), tile.last_reading_at or 0
    if fresh in (Fresh.STALE, Fresh.AGEING):
        return words.age(moment.second - since), fresh is Fresh.STALE
    if fresh is Fresh.BY_HAND:
        return words.age_in_minutes(moment.second - since), False
    if fresh is Fresh.LIVE and invented:  # no word of a drill's beds is "live"
        return say("fresh"), False
    return say(fresh.value), fresh is not Fresh.LIVE


def _state_row(tile: TileView, moment: Moment) -> NeedFace:
    """The need row where nobody is needed: not judged, simulated, by hand, or empty."""
    if tile.transport is not None:
        transport = tile.transport
        if transport.ended_at is None:
            since = say("In transport since {hhmm}", hhmm=words.hhmm(transport.began, moment.zone))
            parts = (since, back_words(transport, moment), gas_words(tile, moment))
            title = " · ".join(part for part in parts if part)
        else:
            title = say("Back since {hhmm} · return check due", hhmm=words.hhmm(transport.ended_at, moment.zone))
        return NeedFace(mark=Mark.TRANSPORT, hue=StateHue.SEEN, title=title)
    ends = ending(tile, moment)
    if ends and not moment.veiled:
        return NeedFace(title=ends[0])
    if not moment.veiled and (tile.stale or tile.last_reading_at is None):
        reason = say("no reading yet") if tile.last_reading_at is None else say("values too old")
        return NeedFace(
            mark=Mark.NOT_JUDGED, hue=StateHue.NOT_JUDGED, title=say("Not judged · {reason}", reason=reason)
        )
    origin = _ORIGINS.get(tile.origin) if tile.origin is not None else None
    if origin is None:
        return NeedFace()
    mark, hue, title = origin[0], origin[1], say(origin[2])
    if tile.origin is Origin.ENTERED and tile.by_hand_note:
        title = f"{title}, {tile.by_hand_note}"
    return NeedFace(mark=mark, hue=hue, title=title)


def _foot(tile: TileView, store: Store, moment: Moment) -> FootFace:
    if moment.veiled:
        return FootFace(Foot.QUIET, (say("not judged here"),))
    lead = leading(tile)
    if lead is None or lead.over:
        return FootFace(Foot.QUIET, _quiet(tile, store, moment))
    foot = foot_of_need(lead, store, moment)
    if foot.kind is not Foot.QUIET:
        return foot
    # a low calls nobody: what else stands at the bed keeps its place beside it
    quiet = tuple(rest for rest in _quiet(tile, store, moment) if rest)
    more = tuple(f"{foot.left[0]} · {rest}" for rest in quiet)
    return FootFace(foot.kind, (*more, *(quiet if tile.transport is not None else ()), *foot.left))


def _on_the_way(tile: TileView, moment: Moment) -> str:
    """``in transport · gas 48 min``: a need takes the row of a transport; that it is away must stay."""
    if tile.transport is None or tile.transport.ended_at is not None:
        return ""
    return " · ".join(part for part in (say("in transport"), gas_words(tile, moment)) if part)


def _quiet(tile: TileView, store: Store, moment: Moment) -> tuple[str, ...]:
    """What a quiet tile says last: what is not watched, and remarks. A full set is not counted."""
    parts: list[str] = []
    if tile.stale and tile.last_reading_at is not None:
        from_then = tile.last_reading_at + round(tile.stale_after_s * SECOND)
        parts.append(say("Nothing watched since {hhmm}", hhmm=words.hhmm(from_then, moment.zone)))
    elif tile.judged < tile.rules:
        parts.append(say("{judged} of {rules} rules judged", judged=tile.judged, rules=tile.rules))
    if tile.transport is not None and tile.transport.ended_at is None:
        away = tile.transport
        leads = say("Leads: {leader}", leader=store.label(away.leader))
        silent = no_feed_words(away, moment)
        parts = [part for part in (missing_words(away), *parts, leads, silent) if part]
    parts = [*high_limits(tile, moment), *parts]
    parts = [*(trial_words(run.trial, moment) for run in tile.runs if run.trial is not None), *parts]
    if tile.care_until is not None and not moment.has_counted(tile.care_until):
        parts.insert(
            0, say("Care until {hhmm}: short delays doubled", hhmm=words.hhmm(tile.care_until, moment.zone))
        )
    if tile.audio_paused is not None and not moment.has_come(tile.audio_paused.until):
        parts.insert(0, say("Sound paused by {by}", by=store.label(tile.audio_paused.by)))
    # the same words, shorter and shorter: remarks go first, then names of what is not watched, that as the last
    watched = _not_watched(tile)
    longest = [*parts, *watched[:1], *tile.notes]
    found = [longest[:count] for count in range(len(longest), len(parts) + len(watched[:1]) - 1, -1)]
    found += [[*parts, short] for short in watched[1:]]
    found += [parts[:count] for count in range(len(parts), 0, -1)]
    return tuple(dict.fromkeys(" · ".join(one) for one in found if one)) or ("",)


def _not_watched(tile: TileView) -> tuple[str, ...]:
    """What is usual for the support and not fitted: by name, and shorter."""
    names = tile.not_watched
    if not names or tile.stale:
        return ()
    short = (
        (say("Not watched: {names} and {count} more", names=names[0], count=len(names) - 1),)
        if len(names) > 1
        else ()
    )
    return (say("Not watched: {names}", names=", ".join(names)), *short)
