"""What the header says, in words and numbers: the clock, the needs, the holes in the cover, the links."""

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.core.grades import Priority
from monitor.core.view import EpisodeView
from monitor.desk import words
from monitor.desk.cover_words import NobodyThere, everybody, extension, holes, nobody_there, others_wait, phones
from monitor.desk.duepage.words import count_words
from monitor.desk.item_words import spare_words
from monitor.desk.link_state import LinkState
from monitor.desk.need import is_open, need_of, wants_somebody
from monitor.desk.reach import DO, Reach, do_words
from monitor.desk.sound.face import NOTHING_SAID, SoundFace
from monitor.desk.sound.paused import pause_words
from monitor.desk.standing import ending, silent_words
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import holder_words, is_blind, next_call, title_of
from shared.instant import SECOND
from shared.language.saying import say
from shared.look.marks import Mark
from shared.look.need import Need
from shared.messages import Origin

#: So many needs are listed; the rest are counted.
LISTED = 6
#: So many beds are named in a line; of more their number.
_NAMED = 4


@dataclass(frozen=True, slots=True)
class NeedLine:
    """One need of the list. ``who`` has the same words long and short; ``paused``: how long its sound still is.

    Without a need it is a quiet line, below all needs: it calls nobody, ``mark`` is its own, and ``who`` says what
    ``title`` says, shorter.
    """

    need: Need | None
    bed: str
    title: str
    who: tuple[str, ...]
    held: bool
    paused: str = ""
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class Banner:
    """A solid plate over the header: what is lost, since when, what to do, whom to telephone."""

    title: str
    below: str
    words: str
    phones: str
    since: str
    whole: bool


@dataclass(frozen=True, slots=True)
class HeaderFace:
    """Everything in the header. ``second``: 0 to 59, for the race; ``holes``: rungs with nobody on them.

    ``link_short``: the link where it has little room.
    ``due``: how much is due, long and short; none where nothing is. ``spares``: how many are ready;
    ``spares_short``: fewer of some kind than the unit wants.
    """

    unit: str
    clock: str
    second: int | None
    needs: tuple[NeedLine, ...]
    no_needs: str
    unlisted: int
    counts: Mapping[Need, int]
    not_taken: int | None
    holes: tuple[tuple[str, str], ...]
    extension: str
    link: str
    link_bold: bool
    feeds: str
    feeds_bold: bool
    sound: str
    banner: Banner | None
    sound_bold: bool = False
    sound_off: bool = False
    due: tuple[str, ...] = ()
    spares: str = ""
    spares_short: bool = False
    link_short: str = ""


def compose_header(
    store: Store, moment: Moment | None, silent_s: float, sound: SoundFace = NOTHING_SAID
) -> HeaderFace:
    """Make the header. ``moment`` is ``None`` before the hub's first word."""
    unit = store.unit
    needs = [(bed, episode) for bed, episode in store.needs() if is_open(episode)]
    link, bold = _link(store.link.state, silent_s)
    known = unit.feeds_known if unit is not None else 0
    live = unit.feeds_live if unit is not None else 0
    spares, short = spare_words(unit.equipment, moment) if unit is not None and moment is not None else ("", False)
    return HeaderFace(
        unit=unit.name if unit is not None else say("No unit yet"),
        clock=words.clock(moment.second, moment.zone) if moment is not None else "--:--:--",
        second=moment.second // SECOND % 60 if moment is not None else None,
        needs=_listed(needs, store, moment) if moment is not None else (),
        no_needs=_no_needs(store),
        unlisted=max(0, len(needs) - LISTED),
        counts={need: sum(need_of(one) is need for _, one in needs) for need in Need} if unit is not None else {},
        not_taken=sum(wants_somebody(one) for _, one in needs) if unit is not None else None,
        holes=holes(store, moment),
        extension=extension(store),
        link=link,
        link_short=_short_link(store.link.state, silent_s),
        link_bold=bold,
        feeds=say("Feeds {live} of {known}", live=live, known=known)
        if known
        else say("No feeds: by hand")
        if _by_hand(store)
        else say("No feeds"),
        feeds_bold=live < known,
        sound=sound.words,
        banner=_banner(store, moment, silent_s),
        sound_bold=sound.bold,
        sound_off=sound.off,
        due=count_words(store, moment),
        spares=spares,
        spares_short=short,
    )


def _by_hand(store: Store) -> bool:
    return any(tile.runs and tile.origin is Origin.ENTERED for tile in store.tiles.values())


def _listed(needs: list[tuple[str | None, EpisodeView]], store: Store, moment: Moment) -> tuple[NeedLine, ...]:
    """The worst needs first, then quiet lines as far as there is room."""
    lines = [_line(bed, one, store, moment) for bed, one in needs[:LISTED]]
    return (*lines, *_quiet(store, moment))[:LISTED]


def _quiet(store: Store, moment: Moment) -> list[NeedLine]:
    """What calls nobody and still stands on the list: an own limit that ends soon, a transport without a feed."""
    lines = []
    for bed in store.beds():
        tile = store.tiles.get(bed)
        if tile is None:
            continue
        lines += [NeedLine(None, bed, said, (said.split(",")[0],), False) for said in ending(tile, moment)]
        silent = silent_words(tile.transport, moment) if tile.transport is not None else ""
        if silent:
            lines.append(NeedLine(None, bed, silent, (silent.split(", ")[1],), False, mark=Mark.TRANSPORT))
    return lines


def _no_needs(store: Store) -> str:
    """What stands in place of the list when no condition stands: an empty list is no evidence of safety.

    What is listed until somebody has seen it is named: the notice of a set entered late, or what ended unseen.
    """
    if store.link.state is LinkState.STARTING:
        return say("{value}. Nothing is known yet.", value=store.link.tried or say("Waiting for the hub"))
    unseen = [bed or say("Unit") for bed, _ in store.needs()]
    if unseen:
        beds = list(dict.fromkeys(unseen))
        where = ", ".join(beds) if len(beds) <= _NAMED else say("at {count} beds", count=len(beds))
        return say(
            "{count} to be seen: {where}. No other need; that is no proof of safety: see each bed.",
            count=len(unseen),
            where=where,
        )
    if not any(tile.runs for tile in store.tiles.values()):
        return say("No support run at any bed: nothing is watched here. One starts at its bed: M, then S.")
    return say("No open need. That is no proof of safety: see each bed.")


def _line(bed: str | None, episode: EpisodeView, store: Store, moment: Moment) -> NeedLine:
    if episode.holder is not None:
        who: tuple[str, ...] = (
            holder_words(episode.holder, store, moment),
            store.label(episode.holder.person),
        )
    elif episode.priority is Priority.LOW:
        who = (say("Low: nobody is called"), say("not called"), "")
    else:
        who = next_call(episode, store, moment)
    tile = store.tiles.get(bed) if bed is not None else None
    title = title_of(episode, tile, moment)
    paused = pause_words(tile, moment.now) if tile is not None and tile.audio_paused is not None else ""
    return NeedLine(need_of(episode), bed or say("Unit"), title, who, episode.holder is not None, paused)


def _short_link(state: LinkState, silent_s: float) -> str:
    """What stands of the link where there is little room for it."""
    if state is LinkState.STARTING:
        return say("Looking · {silent_s:.0f} s", silent_s=silent_s)
    return say("Silent · {silent_s:.0f} s", silent_s=silent_s) if state is LinkState.LATE else ""


def _link(state: LinkState, silent_s: float) -> tuple[str, bool]:
    return {
        LinkState.STARTING: (say("Looking for the hub · {silent_s:.0f} s", silent_s=silent_s), True),
        LinkState.LIVE: (say("Hub linked"), False),
        LinkState.LATE: (say("Hub silent for {silent_s:.0f} s", silent_s=silent_s), True),
        LinkState.NOT_LIVE: (say("Hub lost"), True),
    }[state]


def _banner(store: Store, moment: Moment | None, silent_s: float) -> Banner | None:
    if store.link.state is LinkState.NOT_LIVE:
        return _not_live(store, moment, silent_s)
    alone = nobody_there(store)
    if alone is not None and moment is not None and not others_wait(store, alone):
        return _nobody(store, alone, moment)
    episode = is_blind(store)
    if episode is None or moment is None:
        return None
    beds = [tile.bed for tile in store.tiles.values() if tile.runs and tile.stale]
    with_runs = sum(bool(tile.runs) for tile in store.tiles.values())
    who = say("Nobody has it. {next_call}", next_call=next_call(episode, store, moment)[0])
    if episode.holder is not None:
        who = holder_words(episode.holder, store, moment)
    return Banner(
        title=say("Board blind to {count} of {with_runs} beds", count=len(beds), with_runs=with_runs),
        below=say("{beds} · since {clock}", beds=" ".join(beds), clock=words.clock(episode.since, moment.zone)),
        words=say("Go to these beds now. {who}", who=who),
        phones=say("Telephone: {phones}", phones=phones(store)),
        since=words.since(moment.second - episode.since),
        whole=False,
    )


def _nobody(store: Store, alone: NobodyThere, moment: Moment) -> Banner:
    return Banner(
        title=say("Nobody can be called"),
        below=say(
            "{places} · since {clock}", places=", ".join(alone.places), clock=words.clock(alone.since, moment.zone)
        ),
        words=say("Nobody stands where it calls. Go there, and put somebody on a post: R."),
        phones=say("Telephone: {everybody}", everybody=everybody(store)),
        since=words.since(moment.second - alone.since),
        whole=False,
    )


def _not_live(store: Store, moment: Moment | None, silent_s: float) -> Banner:
    tried = store.link.tried
    if moment is None or store.unit is None:
        do = do_words(store.link.reach)
        return Banner(
            title=say("No hub found"),
            below=tried or say("This desk has heard nothing since it was started."),
            words=say("Nothing is known and nothing can be taken from here. {do}", do=do).strip(),
            phones=say("Go to the beds. Telephone: the list on paper at the desk"),
            since=words.since(round(silent_s) * SECOND),
            whole=True,
        )
    lost_for = round(silent_s) * SECOND
    return Banner(
        title=say("Not live since {clock}", clock=words.clock(store.clock.last_word, moment.zone)),
        below=tried if store.link.reach in DO and store.link.reach is not Reach.CONNECTED else "",
        words=say("This board has lost the hub. Nothing below is current and nothing can be taken from here."),
        phones=say("Go to the beds. Telephone: {phones}", phones=phones(store)),
        since=words.since(lost_for),
        whole=True,
    )
