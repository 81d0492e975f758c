"""The need row, the staff and the last line of a tile, in words."""

from monitor.core.call_back_state import CANNOT, SEEN
from monitor.core.commands import CallBack
from monitor.core.grades import RUNG_LABEL, AlertClass, LadderClass, Priority, Rung
from monitor.core.view import EpisodeView, HolderView, LadderView, RungView, TileView
from monitor.desk import words
from monitor.desk.need import is_of_the_past, leading, need_of, wants_somebody
from monitor.desk.paint.staff import REST, RungPicture, RungState, StaffPicture
from monitor.desk.store import Store
from monitor.desk.tile.face import Foot, FootFace, NeedFace, Plate
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, SECOND
from shared.language.saying import say, to_say
from shared.look.marks import Mark, mark_of
from shared.look.palette import StateHue

_PLATES = {Priority.HIGH: Plate.HEAD, Priority.MEDIUM: Plate.ROW, Priority.LOW: Plate.LINE}
WHERE = {"at_bed": to_say("at the bed"), to_say("going"): to_say("going"), "phone": to_say("by phone")}


def need_face(tile: TileView, moment: Moment) -> NeedFace | None:
    """Give the need row of the leading episode; ``None`` when there is none."""
    lead = leading(tile)
    if lead is None:
        return None
    mark = mark_of(need_of(lead))
    if moment.veiled:
        return NeedFace(mark=mark, hue=StateHue.STALE, title=say("was: {title}", title=lead.title))
    if lead.over:
        ended = max((one.ended_at for one in lead.alerts if one.ended_at is not None), default=None)
        when = say(", ended {hhmm}", hhmm=words.hhmm(ended, moment.zone)) if ended is not None else say(", ended")
        when = "" if is_of_the_past(lead) else when
        title = say("{title}{when} · not seen", title=lead.title, when=when)
        return NeedFace(mark=Mark.LATCHED, hue=StateHue.LATCHED, title=title, more=len(tile.episodes) - 1)
    return NeedFace(
        need=need_of(lead),
        plate=_PLATES[lead.priority],
        held=lead.holder is not None,
        mark=mark,
        title=title_of(lead, tile, moment),
        since=words.since(moment.second - lead.since),
        more=len(tile.episodes) - 1,
        blinks=lead.priority if wants_somebody(lead) else None,
    )


def title_of(episode: EpisodeView, tile: TileView | None, moment: Moment) -> str:
    """Give an episode's title; with the time of its leading alert's last reading once that is too old to judge."""
    lead = next((one for one in episode.alerts if one.id == episode.lead and one.present), None)
    if tile is None or lead is None or lead.quantity is None or lead.last_reading_at is None:
        return episode.title
    if moment.second - lead.last_reading_at < tile.stale_after_s * SECOND:
        return episode.title
    return say(
        "{title} · last reading {hhmm}", title=episode.title, hhmm=words.hhmm(lead.last_reading_at, moment.zone)
    )


def staff_picture(tile: TileView, moment: Moment) -> StaffPicture:
    """Give the staff: the ladder of the leading episode, or the scale at rest."""
    lead = leading(tile)
    if lead is None or lead.ladder is None or lead.over or moment.veiled:
        return REST
    rungs = tuple(_rung(rung, lead.ladder, moment) for rung in lead.ladder.rungs)
    return StaffPicture(need_of(lead), rungs, gate=lead.holder is not None)


def _rung(rung: RungView, ladder: LadderView, moment: Moment) -> RungPicture:
    state, label = RungState(rung.state.value), f"R{rung.rung}"
    if rung.at is None:
        return RungPicture(label, state)
    if state is RungState.NEXT:
        left = rung.at - moment.second
        whole = max(1, rung.at - ladder.began)
        return RungPicture(label, state, words.countdown(left), min(1.0, max(0.0, 1 - left / whole)))
    return RungPicture(label, state, words.hhmm(rung.at, moment.zone))


def foot_of_need(lead: EpisodeView, store: Store, moment: Moment) -> FootFace:
    """Give the last line while somebody is needed: who has it, or that nobody has, and who is called next."""
    if lead.holder is not None:
        return _held(lead, lead.holder, store, moment)
    if lead.priority is Priority.LOW:
        seen = say(" · seen by {names}", names=_names(lead.seen_by, store)) if lead.seen_by else ""
        return FootFace(Foot.QUIET, (say("Low: nobody is called{seen}", seen=seen), say("Low: nobody is called")))
    right = next_call(lead, store, moment)
    elsewhere = [*without_help(lead), *lead.advising]
    if elsewhere:
        long, short = call_back_words(lead, elsewhere[-1], store, moment)
        mark = Mark.SEEN if is_seen(lead, elsewhere[-1]) else None
        return FootFace(
            Foot.NOBODY, (say("{long} · nobody has it", long=long), long, short, say("Nobody has it")), right, mark
        )
    if lead.seen_by:
        name = store.label(lead.seen_by[-1])
        left = (say("Seen by {name} · nobody has it", name=name), say("Seen · nobody has it"), say("Nobody has it"))
        return FootFace(Foot.NOBODY, left, right, Mark.SEEN)
    return FootFace(Foot.NOBODY, (say("Nobody has it"),), right)


def without_help(lead: EpisodeView) -> tuple[str, ...]:
    """Give who said from elsewhere that they cannot, or have seen it and said no more; the newest last."""
    return tuple(said.person for said in lead.call_backs if said.says in (SEEN, CANNOT))


def is_seen(lead: EpisodeView, person: str) -> bool:
    """Tell whether somebody has seen it from elsewhere, said no more, and is not late with it."""
    said = next((one for one in lead.call_backs if one.person == person), None)
    return said is not None and said.says == SEEN and not said.late


def call_back_words(lead: EpisodeView, person: str, store: Store, moment: Moment) -> tuple[str, str]:
    """Say, long and short, how somebody helps from elsewhere: by phone, or what they said of coming back to it."""
    name = store.label(person)
    said = next((one for one in lead.call_backs if one.person == person), None)
    if said is None:
        return say("{name} helps by phone", name=name), say("{name} by phone", name=name)
    if said.says == CANNOT:
        return say("{name} cannot", name=name), say("{name} cannot", name=name)
    if said.says == SEEN and said.late:
        since = words.hhmm(said.at, moment.zone)
        return say("No answer from {name} since {since}", name=name, since=since), say(
            "No answer since {since}", since=since
        )
    if said.says == SEEN:
        by = lead.ladder.call_back_by if lead.ladder is not None else None
        due = say(", answer by {hhmm}", hhmm=words.hhmm(by, moment.zone)) if by is not None else ""
        return say("Seen by {name}{due}", name=name, due=due), say("Seen{due}", due=due)
    if said.eta_at is None:
        return say("{name} is calling in", name=name), say("{name} calling in", name=name)
    left = said.eta_at - moment.second
    there = (
        f"{max(1, -(-left // MINUTE))} min"
        if left > 0
        else say("due {hhmm}", hhmm=words.hhmm(said.eta_at, moment.zone))
    )
    if said.says == CallBack.DEPUTY:
        return say("{name} has sent a deputy, {there}", name=name, there=there), say("deputy, {there}", there=there)
    return say("{name} is on the way, {there}", name=name, there=there), f"{name}, {there}"


def next_call(lead: EpisodeView, store: Store, moment: Moment) -> tuple[str, ...]:
    """Say who is called next and when, long and short: ``Surgeon called in 0:34``, ``Surgeon in 0:34``.

    Where nobody stands on that rung: ``No surgeon to call · 0:34``, and nobody waits for one.
    """
    ladder = lead.ladder
    if ladder is None:
        return ("",)
    if ladder.nobody_since is not None:
        return say("Nobody can be called: telephone"), say("Nobody can be called"), say("nobody to call")
    if ladder.next_rung is not None and ladder.next_at is not None:
        who = say(RUNG_LABEL[Rung(ladder.next_rung)])
        left = words.countdown(ladder.next_at - moment.second)
        if _is_empty(ladder.next_rung, store):
            return say("No {who} to call · {left}", who=who.lower(), left=left), say(
                "No {who} · {left}", who=who.lower(), left=left
            )
        return (
            say("{who} called in {left}", who=who, left=left),
            say("{who} in {left}", who=who, left=left),
            say("{split} in {left}", split=who.split()[0], left=left),
        )
    if ladder.repeats_at is not None:
        left = words.countdown(ladder.repeats_at - moment.second)
        again = say("again in {left}", left=left)
        return (again,) if _holes(ladder, store) else (say("All called · {again}", again=again), again)
    return (say("Nobody left to call"),) if _holes(ladder, store) else (say("All called"),)


def _is_empty(rung: int, store: Store) -> bool:
    cover = store.unit.cover if store.unit is not None else ()
    return any(one.rung == rung and one.person is None for one in cover if one.rung > 1)


def _holes(ladder: LadderView, store: Store) -> bool:
    """Tell whether nobody stands on a rung that this ladder reaches: then not all are called."""
    return any(_is_empty(one.rung, store) for one in ladder.rungs)


def holder_words(holder: HolderView, store: Store, moment: Moment) -> str:
    """Say who has it and where: ``Nurse 4 · going, 3 min``."""
    where = say(WHERE.get(holder.where, holder.where))
    if holder.eta_at is not None:
        left = holder.eta_at - moment.second
        due = say("due {hhmm}", hhmm=words.hhmm(holder.eta_at, moment.zone))
        where += f", {max(1, -(-left // MINUTE))} min" if left > 0 else f", {due}"
    return f"{store.label(holder.person)} · {where}"


def _held(lead: EpisodeView, holder: HolderView, store: Store, moment: Moment) -> FootFace:
    plain = holder_words(holder, store, moment)
    right = say("calls again in {countdown}", countdown=words.countdown(holder.until - moment.second))
    left = [plain, store.label(holder.person)]
    if holder.told_to is not None:
        told = say(
            "told to {told_to} {hhmm}",
            told_to=store.label(holder.told_to),
            hhmm=words.hhmm(holder.taken_at, moment.zone),
        )
        left = [f"{plain} · {told}", f"{store.label(holder.person)} · {told}", *left]
    elif holder.reason is None:
        name = store.label(holder.person)
        left = [
            say("{plain} · Reason of the take? W", plain=plain),
            say("{plain} · Reason? W", plain=plain),
            say("{name} · Reason? W", name=name),
            *left,
        ]
    elif lead.also:
        left = [say("{plain} · also {names}", plain=plain, names=_names(lead.also, store)), *left]
    return FootFace(Foot.HOLDER, tuple(left), (right,), Mark.TAKEN)


def _names(names: tuple[str, ...], store: Store) -> str:
    return ", ".join(store.label(name) for name in names)


def is_blind(store: Store) -> EpisodeView | None:
    """Give the unit's open episode that says the board is blind, if there is one."""
    episodes = store.unit.episodes if store.unit is not None else ()
    for episode in episodes:
        blind = episode.ladder is not None and episode.ladder.ladder is LadderClass.BOARD_BLIND
        named = any(one.rule == "board_blind" for one in episode.alerts)
        if not episode.over and episode.alert_class is AlertClass.TECHNICAL and (blind or named):
            return episode
    return None
