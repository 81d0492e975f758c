"""Numbers, times and ages as the form writes them. A true minus; a clock on the unit's wall."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo

from feeds.entered.post import Way
from feeds.entered.rounds import Posted
from feeds.entered.sweep import DueBed
from shared.entry.computed import Computed
from shared.entry.findings import spoken
from shared.entry.versions import SetState
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say, says, to_say
from shared.language.writing import number
from shared.messages import Found, RoundKind
from shared.quantities import Quantity

ROUND_WORDS = {
    RoundKind.HOURLY: to_say("Hourly round"),
    RoundKind.SAFETY_WALK: to_say("Safety walk"),
    RoundKind.PERFUSION: to_say("Perfusion round"),
}
_TIME = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9])")


def clock_words(at: Instant, zone: tzinfo) -> str:
    """Write a time of day: ``14:03``."""
    return datetime.fromtimestamp(at / 1000, UTC).astimezone(zone).strftime("%H:%M")


def age_words(ms: int) -> str:
    """Write an age: ``0 min``, ``58 min``, ``1 h 05``, ``3 d``."""
    minutes = max(0, ms // MINUTE)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60:02d}"
    return f"{minutes // (24 * 60)} d"


def change_words(quantity: Quantity, difference: float) -> str:
    """Write what a number differs by from the last one, without unit: ``+0.2``, ``−15``, ``±0``."""
    if quantity is Quantity.ON_MAINS:
        return "" if abs(difference) < 0.5 else say("changed")
    digits = spoken(Quantity.APTT_RATIO, round(difference, 3))
    return "±0" if digits == "0" else digits if difference < 0 else f"+{digits}"


def read_clock(text: str, now: Instant, zone: tzinfo) -> Instant | str:
    """Read a time of day; a sentence where it is none.

    ``14:03``, ``14.03``, ``14,03`` and ``1403`` are one time, the one nearest to now; ``-14:03`` is yesterday's.
    """
    said = text.strip()
    plain = said.lstrip("-\u2212").replace(".", ":").replace(",", ":")
    if plain.isdigit() and len(plain) in (3, 4):
        plain = f"{plain[:-2]}:{plain[-2:]}"
    found = _TIME.fullmatch(plain)
    if found is None:
        return say(
            '"{said}" is no time. Type hours and minutes, as 14:03 or 1403; yesterday\'s as -14:03.', said=said
        )
    today = datetime.fromtimestamp(now / 1000, UTC).astimezone(zone)
    at = today.replace(hour=int(found[1]), minute=int(found[2]), second=0, microsecond=0)
    ahead = round(at.timestamp() * 1000) - now
    if said[0] in "-\u2212" or ahead > 12 * HOUR:
        at -= timedelta(days=1)
    return round(at.timestamp() * 1000)


def posted_words(posted: Posted, now: Instant, zone: tzinfo) -> str:
    """Write one set of the list: when it was read, how old, how many numbers, how far it got."""
    kept = posted.numbered.kept
    newest = kept.newest
    words = f"{clock_words(newest.read_at, zone)} · {age_words(now - newest.read_at)}"
    if newest.values or newest.round is None:
        words += f" · {numbers_words(len(newest.values))}"
    if newest.round is not None:
        seen = sum(one.found is not Found.NOT_LOOKED for one in newest.looked.values())
        words += say(
            " · {round_words}, {seen} of {count} looked at",
            round_words=say(ROUND_WORDS[newest.round]).lower(),
            seen=seen,
            count=len(newest.looked),
        )
    if newest.at - newest.read_at > 15 * MINUTE:
        words += say(" · late")
    if len(kept.versions) > 1:
        words += say(" · corrected ({count})", count=len(kept.versions))
    if kept.state is SetState.STRUCK:
        words += say(" · struck")
    elif kept.state is SetState.STRIKE_ASKED:
        words += say(" · {by} asks to strike it", by=kept.strikes[-1].by)
    return f"{words} · {way_words(posted)}"


def way_words(posted: Posted) -> str:
    """Say how far a set got."""
    match posted.way:
        case Way.STORED:
            return say("stored by the hub")
        case Way.WAITS:
            return say("sent, NOT STORED YET")
        case Way.REFUSED:
            return say("REFUSED by the hub: {why_refused}", why_refused=posted.why_refused)
        case Way.UNKNOWN:
            return say("NOT KNOWN whether stored: look at the board")


def numbers_words(count: int) -> str:
    """Write how many: ``1 number``, ``3 numbers``."""
    return says("1 number", "{count} numbers", count)


def unanswered_words(count: int) -> str:
    """Say how many items of a round have no answer, and what becomes of them."""
    return says(
        "1 item is not answered. Answer, or F2 again: it is sent as NOT LOOKED AT.",
        "{count} items are not answered. Answer, or F2 again: they are sent as NOT LOOKED AT.",
        count,
    )


def computed_words(worked: Iterable[Computed]) -> str:
    """Write what follows from a set."""
    parts = [f"{say(one.label)} {number(one.value, one.decimals)} {one.unit}".strip() for one in worked]
    return say("Computed:  ") + ("   ·   ".join(parts).replace("-", "\u2212") or say("nothing yet"))


def due_words(one: DueBed) -> str:
    """Write what is due at a bed, and since when."""
    if not one.is_due:
        return say("nothing is due")
    parts = [say(ROUND_WORDS[kind]).lower() for kind in one.rounds]
    if one.due and not one.never:
        parts.append(says("1 field", "{count} fields", one.due))
    what = say("nothing entered yet") if one.never else say("{parts} due", parts=", ".join(parts))
    if one.never and parts:
        what += say(", {parts} due", parts=", ".join(parts))
    over = say(", overdue by {age_words}", age_words=age_words(one.overdue_ms)) if one.overdue_ms >= MINUTE else ""
    return f"{what[0].upper()}{what[1:]}{over}"
