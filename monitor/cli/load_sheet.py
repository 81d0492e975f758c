"""The sheet of alert load: plain text that prints, 98 columns, every figure with what it is divided by."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from monitor.analysis.alert_answers import Median, Outcomes
from monitor.analysis.alert_load import LoadFigures, Rate
from monitor.analysis.alert_rates import Spread
from monitor.analysis.alert_yardsticks import BY_FIGURE, LABEL, SEEN, load_band
from shared.cautions import DRILL, NO_DEVICE
from shared.instant import HOUR, SECOND, Instant

WIDTH = 98
PRINTED = 32
"""Digits of a head that are printed: 128 bits are enough to prove it by, and few enough to be typed."""
_TOP = 10
_LISTED = 8
CAUTION = (
    NO_DEVICE,
    "Second look only. The bedside console is the alarm. Figures of a unit, never of a person.",
    "No alert is no evidence of safety: where nothing was read, nothing was judged.",
)


@dataclass(frozen=True, slots=True)
class Source:
    """Where the figures are from.

    Attributes:
        name: of the file.
        first: its first moment.
        zero: where a rehearsal's times begin; ``None``: it is a record.
        head: number and digest of a record's newest entry; no digest: none.
        drill: what was practised, where the record is of a drill.
    """

    name: str
    first: Instant
    zero: Instant | None
    head: tuple[int, str] = (0, "")
    drill: str = ""

    def clock(self, at: Instant) -> str:
        """Write a moment: of a record in this machine's time, of a rehearsal as h:mm:ss from its start."""
        if self.zero is not None:
            seconds = (at - self.zero) // SECOND
            return f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"
        return datetime.fromtimestamp(at / SECOND, UTC).astimezone().strftime("%Y-%m-%d %H:%M")


def sheet(figures: LoadFigures, source: Source) -> str:
    """Give the whole sheet."""
    return "\n".join(line.rstrip() for line in _lines(figures, source))


def _lines(f: LoadFigures, source: Source) -> Iterator[str]:
    if source.drill:
        yield f"{DRILL} {source.drill}"
    yield "ALERT LOAD"
    yield from CAUTION
    yield ""
    yield f"From {source.clock(f.begin)} to {source.clock(f.end)} ({(f.end - f.begin) / HOUR:.1f} h), {source.name}"
    if source.zero is None and source.first > f.begin:
        yield f"The record begins at {source.clock(source.first)}: before that nothing was watched."
    yield from _watched(f, source)
    yield ""
    yield from _counts(f)
    yield ""
    yield from _yardsticks(f, source)
    yield ""
    yield from _rules(f)
    yield ""
    yield from _beds(f)
    yield ""
    yield from _answers(f, source)
    yield ""
    yield from _repeats(f, source)
    if source.head[1]:
        number, digest = source.head
        yield ""
        yield f"Head of the record: entry {number}, {'-'.join(digest[n : n + 4] for n in range(0, PRINTED, 4))}"
        yield "Kept on paper it proves that nothing up to here was taken out of the log: verify --head."


def _watched(f: LoadFigures, source: Source) -> Iterator[str]:
    if f.bed_hours is None:
        yield "Bed-hours: none. Events do not say which beds were watched: give --beds and --hours."
        return
    silent = "not told by events" if source.zero is not None else f"{f.silent_hours:.1f} h"
    yield f"Watched: {f.beds} beds, {f.bed_hours:.1f} bed-hours with an open run; without a feed: {silent}."
    if f.away_hours:
        yield f"Besides, {f.away_hours:.1f} bed-hours in which the hub did not run: nothing was watched in them."


def _counts(f: LoadFigures) -> Iterator[str]:
    over = "none" if f.bed_hours is None else f"{f.bed_hours:.1f} bed-hours"
    title = "Alerts (own priority at the raise)"
    yield f"{title:36}{'count':>7}{'per bed and h':>15}{'per bed and 12 h':>18}   over"
    for words, rate in (("medium and high", f.medium_high), ("low (nobody is called)", f.low), ("all", f.all)):
        yield f"  {words:34}{rate.count:>7}{_per(rate, hour=True):>15}{_per(rate, hour=False):>18}   {over}"
    yield (
        f"  high {f.high} (circuit-critical {f.circuit_critical}), medium {f.medium}, low {f.low.count}; "
        f"technical {f.technical}; folded into an episode {f.joined} of {f.all.count}"
    )


def _per(rate: Rate, *, hour: bool) -> str:
    value = rate.per_bed_hour if hour else rate.per_bed_12h
    return "none" if value is None else f"{value:.3f}" if hour else f"{value:.2f}"


def _yardsticks(f: LoadFigures, source: Source) -> Iterator[str]:
    yield "All beds together, as one operator sees them"
    yield f"  {'':66}{LABEL.split(',')[0]},"
    yield f"  {'':66}{LABEL.split(', ')[1]}:"
    total = f.all.count
    shares = f"{_percent(f.low.count, total)} / {_percent(f.medium, total)} / {_percent(f.high, total)}"
    top = sum(rule.count for rule in f.rules[:_TOP])
    ten, hours = f.per_10_min, f.per_hour
    yield from _row("per 10 min, mean", _mean(ten))
    yield from _row("peak in 10 min", _peak(ten, source))
    yield from _row("10-min bins over 10", f"{_percent(ten.over, ten.bins)} ({ten.over} of {ten.bins} clock bins)")
    yield from _row("per hour, mean", _mean(hours))
    yield from _row("hours over 30", f"{_percent(hours.over, hours.bins)} ({hours.over} of {hours.bins})")
    flooded = "none" if f.flood_share is None else f"{100 * f.flood_share:.1f} %, floods: {len(f.floods)}"
    yield from _row("time in flood", flooded)
    yield from _row("low / medium / high", f"{shares} (of {total})")
    yield from _row("ten most frequent rules", f"{_percent(top, total)} of {total}, {len(f.rules)} rules in all")
    yield from _row(
        "chattering or fleeting", f"{len(f.chattering)} of {f.tags} rules at beds; {f.fleeting} fleeting"
    )
    yield from _row("stale, over 24 h", str(len(f.stale)))
    if ten.mean is not None:
        yield f"  Mean load by the bands of EEMUA 191 (from memory, process industry): {load_band(ten.mean)}."
    for flood in f.floods[:_LISTED]:
        end = source.clock(flood.end) if flood.over else "now, it goes on"
        yield f"  Flood from {source.clock(flood.begin)} to {end}: {flood.alerts} alerts."
    yield f"  Yardsticks unless marked: {SEEN};"
    yield "  for one operator and at least 30 days. Bins of the clock; a flood starts above 10, ends below 5."


def _row(figure: str, value: str) -> Iterator[str]:
    yardstick = BY_FIGURE[figure]
    yield f"  {figure:26}{value:40}{yardstick.acceptable}"
    if not yardstick.source.startswith("ANSI"):
        yield f"  {'':62}({yardstick.source})"


def _mean(one: Spread) -> str:
    return "none" if one.mean is None else f"{one.mean:.2f}"


def _peak(one: Spread, source: Source) -> str:
    return str(one.peak) if one.peak_at is None else f"{one.peak} from {source.clock(one.peak_at)}"


def _percent(count: int, of: int) -> str:
    return "none" if not of else f"{100 * count / of:.0f} %"


def _rules(f: LoadFigures) -> Iterator[str]:
    yield f"{'Rules, noisiest first':26}{'count':>6}{'share':>7}{'high':>6}{'med.':>6}{'low':>5}" + (
        f"{'acted':>8}{'not':>5}{'unclear':>9}{'unanswered':>12}"
    )
    for rule in f.rules[:_TOP]:
        o = rule.outcomes
        yield (
            f"  {rule.rule[:24]:24}{rule.count:>6}{100 * rule.share:>5.0f} %"
            f"{rule.high:>6}{rule.medium:>6}{rule.low:>5}"
            f"{_acted(o):>8}{o.not_acted:>5}{o.unclear:>9}{o.unanswered:>12}"
        )
    if not f.rules:
        yield "  none"
    if len(f.rules) > _TOP:
        yield f"  and {len(f.rules) - _TOP} more rules"
    o = f.outcomes
    told = o.acted + o.not_acted
    share = "none" if o.share is None else f"{100 * o.share:.0f} %"
    yield f"  Acted upon: {share} of the {told} alerts whose reason was told. {o.unanswered} were not answered."
    yield "  acted: taken at the bed, circulation checked, team at the bed, or sensor or line. not: taken as"
    yield "  expected, care, or limit wrong. unclear: seen only, or no such reason told."
    yield "  unanswered: nobody answered, counted as neither."


def _acted(o: Outcomes) -> str:
    return f"{o.acted}/{o.acted + o.not_acted}" if o.acted + o.not_acted else "none"


def _beds(f: LoadFigures) -> Iterator[str]:
    yield f"{'Beds, noisiest first':26}{'count':>6}{'share':>7}{'med. and high':>15}{'watched h':>11}"
    for bed in f.noisy_beds[:_LISTED]:
        hours = "none" if bed.hours is None else f"{bed.hours:.1f}"
        yield f"  {bed.bed or 'the unit':24}{bed.count:>6}{100 * bed.share:>5.0f} %{bed.medium_high:>15}{hours:>11}"
    if not f.noisy_beds:
        yield "  none"
    if len(f.noisy_beds) > _LISTED:
        yield f"  and {len(f.noisy_beds) - _LISTED} more"


def _answers(f: LoadFigures, source: Source) -> Iterator[str]:
    t = f.times
    yield f"Answers to medium and high alerts ({t.of} needed one of their own), median from the raise"
    for words, one in (("to seen", t.to_seen), ("to taken", t.to_taken), ("to somebody at the bed", t.to_bed)):
        yield f"  {words:26}{_median(one):>10}   n = {one.n}"
    longest = t.longest_unanswered
    if longest is None:
        yield f"  {'longest without an answer':26}{'none':>10}"
        return
    goes_on = ", still so at the end" if longest.goes_on else ""
    yield (
        f"  {'longest without an answer':26}{_duration(longest.seconds):>10}   {longest.rule} at "
        f"{longest.bed or 'the unit'}, {source.clock(longest.at)}{goes_on}"
    )


def _median(one: Median) -> str:
    return "none" if one.seconds is None else _duration(one.seconds)


def _duration(seconds: float) -> str:
    whole = round(seconds)
    hours = f"{whole // 3600}:" if whole >= 3600 else ""
    return f"{hours}{whole // 60 % 60:0{2 if hours else 1}}:{whole % 60:02}"


def _repeats(f: LoadFigures, source: Source) -> Iterator[str]:
    yield "Chattering (index 0.05 per s or more, or 3 in 60 s; from memory): " + ("" if f.chattering else "none")
    for one in f.chattering[:_LISTED]:
        yield (
            f"  {one.rule} at {one.bed or 'the unit'}: {one.count} times, index {one.psi:.3f} per s, at most "
            f"{one.most_in_minute} in 60 s"
        )
    for old in f.stale[:_LISTED]:
        yield f"  Stale: {old.rule} at {old.bed or 'the unit'} since {source.clock(old.at)}, {old.hours:.0f} h"
