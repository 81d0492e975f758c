"""Which function carries out what is told of a bed."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from monitor.core.alerts import audio
from monitor.core.bed_commands import (
    AnswerProposal,
    ChangeCylinder,
    DropCallMe,
    DropLimit,
    EndEvent,
    LookedAt,
    MoveRun,
    PauseAudio,
    PlanEvent,
    ProposeLimit,
    ReviewBeyond,
    SeeConfiguration,
    SetCallMe,
    SetLimit,
)
from monitor.core.bedside import (
    call_me,
    care,
    emergency,
    events,
    gas,
    looks,
    orders,
    own_limits,
    proposals,
    runs,
    transports,
    trials,
)
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    Order,
    ReturnCheck,
    SetTarget,
    StartRun,
    StartTransport,
    StartTrial,
)
from monitor.core.emergency_commands import BackOnSupport, BeginCard, GoOffSupport, TickStep
from monitor.core.roles import beyond

#: Each gives ``None`` when it is done, or why it cannot be, in words for the person.
BEDSIDE_ACTS: Mapping[type, Callable[..., str | None]] = MappingProxyType(
    {
        Order: orders.order,
        SetTarget: orders.set_target,
        StartRun: runs.start_run,
        EndRun: runs.end_run,
        MoveRun: runs.move_run,
        SetLimit: own_limits.set_limit,
        DropLimit: own_limits.drop_limit,
        ProposeLimit: proposals.propose,
        AnswerProposal: proposals.answer,
        SetCallMe: call_me.set_call_me,
        DropCallMe: call_me.drop_call_me,
        ChangeCylinder: gas.change_cylinder,
        PauseAudio: audio.pause_audio,
        LookedAt: looks.looked_at,
        SeeConfiguration: looks.saw_configuration,
        PlanEvent: events.plan,
        EndEvent: events.end,
        ReviewBeyond: beyond.review,
        CallHelp: care.call_help,
        CareMarker: care.mark_care,
        Exchange: care.exchange,
        StartTransport: transports.start_transport,
        EndTransport: transports.end_transport,
        ReturnCheck: transports.return_check,
        StartTrial: trials.start_trial,
        EndTrial: trials.end_trial,
        GoOffSupport: emergency.go_off,
        BackOnSupport: emergency.back_on,
        BeginCard: emergency.begin_card,
        TickStep: emergency.tick_step,
    }
)
