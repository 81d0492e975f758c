"""From a scenario's acts to commands: an act answers the bed's open episode of the highest priority."""

from monitor.core.bed_commands import LookedAt, PauseAudio, SetLimit
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    ChangeRoster,
    Command,
    Device,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    HelpByPhone,
    HelpKind,
    Order,
    PassOn,
    Reason,
    Renew,
    ReturnCheck,
    Seen,
    StartRun,
    StartTransport,
    StartTrial,
    Take,
    Where,
)
from monitor.core.grades import RANK, AlertClass, Priority, Rung, TrialKind
from monitor.core.roster_commands import AcceptOffer
from monitor.core.view import EpisodeView, TileView, UnitView
from shared.errors import ConfigurationError
from shared.instant import Instant, ms
from shared.quantities import Quantity
from shared.scenario import run_begun
from shared.scenario_acts import Act

_ANSWERS = frozenset({"seen", "take", "decline", "advise", "renew"})


def commands_of(
    act: Act, number: int, tile: TileView | None, unit: UnitView, begin: Instant
) -> tuple[Command, ...]:
    """Give the commands of an act, none where there is nothing open to answer; see `_command_of`."""
    if act.do == "accept":
        return _accepted(act, f"act-{number:04d}", unit)
    command = _command_of(act, number, tile, unit, begin)
    return () if command is None else (command,)


def _command_of(act: Act, number: int, tile: TileView | None, unit: UnitView, begin: Instant) -> Command | None:
    """Give the command of an act as the screens stand; ``None``: there is nothing open to answer.

    ``begin``: the scenario's start, from which an act's own times count.

    Raises:
        ConfigurationError: an act of a kind that cannot be rehearsed.
    """
    identity = f"act-{number:04d}"
    if act.do in _ANSWERS:
        episode = _answered(tile if act.bed is not None else None, unit)
        return None if episode is None else _answer(act, identity, episode)
    slot = act.slot or 1
    match act.do:
        case "order" if act.bed and act.quantity and act.value is not None:
            return Order(id=identity, person=act.by, bed=act.bed, slot=slot, quantity=act.quantity, value=act.value)
        case "roster" if act.rung:
            return ChangeRoster(
                id=identity, person=act.by, rung=Rung(act.rung), stands=act.person or None, bed=act.bed
            )
        case "help" if act.bed and act.what:
            return CallHelp(id=identity, person=act.by, bed=act.bed, what=HelpKind(act.what))
        case "care_marker" if act.bed and act.minutes:
            return CareMarker(id=identity, person=act.by, bed=act.bed, minutes=round(act.minutes))
        case "audio_pause" if act.bed and act.minutes:
            if act.minutes > 2:
                raise ConfigurationError(f"[[act]] number {number}: an audio pause is at most 2 minutes")
            return PauseAudio(id=identity, person=act.by, bed=act.bed, seconds=round(60 * act.minutes))
        case "exchange" if act.bed and act.device:
            return Exchange(id=identity, person=act.by, bed=act.bed, slot=slot, device=Device(act.device))
        case "trial_start" if act.bed and act.until is not None:
            return StartTrial(
                id=identity,
                person=act.by,
                bed=act.bed,
                slot=slot,
                trial=TrialKind(act.kind or "turn_down"),
                until=begin + ms(act.until),
                second=act.second or act.by,
                floor_flow=act.floor_flow,
            )
        case "transport_start" if act.bed and act.leader and act.back is not None:
            return StartTransport(
                id=identity,
                person=act.by,
                bed=act.bed,
                leader=act.leader,
                back=begin + ms(act.back),
                cylinder_min=act.cylinder_minutes,
            )
        case "limit" if act.bed and act.rule and act.value is not None and act.until is not None:
            return SetLimit(
                id=identity,
                person=act.by,
                bed=act.bed,
                slot=slot,
                rule=act.rule,
                value=act.value,
                until=begin + ms(act.until),
                second=act.second,
                reason=act.reason or "",
            )
        case "transport_end" if act.bed:
            return EndTransport(id=identity, person=act.by, bed=act.bed)
        case "return_check" if act.bed:
            return ReturnCheck(id=identity, person=act.by, bed=act.bed)
        case "trial_end" if act.bed:
            return EndTrial(id=identity, person=act.by, bed=act.bed, slot=slot)
        case "run_start" if act.bed and act.support:
            run = run_begun(act, number)
            assert run is not None, "bed and support are there"
            targets = {Quantity.PUMP_FLOW: act.target_flow} if act.target_flow else {}
            return StartRun(id=identity, person=act.by, bed=act.bed, run=run, targets=targets)
        case "run_end" if act.bed:
            return EndRun(id=identity, person=act.by, bed=act.bed, slot=slot)
        case _:
            raise ConfigurationError(f'[[act]] number {number}: "{act.do}" cannot be rehearsed yet')


def _accepted(act: Act, identity: str, unit: UnitView) -> tuple[Command, ...]:
    """Look at the handover cards of the oldest offer to a person, then accept it; no take goes along."""
    offers = [one for one in unit.roster.offers if one.to == act.by]
    if not offers:
        return ()
    offer = min(offers, key=lambda one: one.id)
    posts = {post.bed for post in offer.posts}
    beds = [bed for bed in unit.beds if None in posts or bed in posts]
    looks = (LookedAt(id=f"{identity}-{bed}", person=act.by, bed=bed, card=True) for bed in beds)
    return (*looks, AcceptOffer(id=identity, person=act.by, offer=offer.id, told_to=act.told_to))


def _answered(tile: TileView | None, unit: UnitView) -> EpisodeView | None:
    episodes = tile.episodes if tile is not None else unit.episodes
    standing = sorted(
        episodes,
        key=lambda e: (e.over, RANK[e.priority], e.alert_class is AlertClass.TECHNICAL, e.since),
    )
    return standing[0] if standing else None


def _answer(act: Act, identity: str, episode: EpisodeView) -> Command:
    reason = Reason(act.reason) if act.reason else None
    common = {
        "id": identity,
        "person": act.by,
        "bed": act.bed,
        "alert": episode.lead,
        "revision": episode.revision,
    }
    match act.do:
        case "seen":
            return Seen.model_validate(common)
        case "take":
            where = Where(act.where) if act.where else Where.GOING
            eta = round(act.eta) if act.eta else None
            if reason is None and episode.priority is not Priority.HIGH:
                reason = Reason.OTHER  # a medium or low needs one; the scenario left it open
            more = {"reason": reason, "where": where, "eta_min": eta, "told_to": act.told_to}
            return Take.model_validate(common | more)
        case "decline":
            return PassOn.model_validate(common | {"reason": reason})
        case "advise":
            return HelpByPhone.model_validate(common | {"reason": reason})
        case _:
            return Renew.model_validate(common | {"reason": reason})
