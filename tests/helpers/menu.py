"""The menu of a bed by keyboard: a desk with a bed in focus, and the keys of every path to its command."""

from typing import Any

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from monitor.core.bed_commands import (
    ChangeCylinder,
    MoveRun,
    PlanEvent,
    SetCallMe,
    SetLimit,
)
from monitor.core.commands import (
    CallHelp,
    CareMarker,
    Device,
    EndRun,
    EndTransport,
    EndTrial,
    Exchange,
    GiveReason,
    HelpKind,
    Order,
    Reason,
    ReturnCheck,
    SetTarget,
    StartRun,
    StartTransport,
    StartTrial,
)
from monitor.core.emergency_commands import BackOnSupport, GoOffSupport
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.core.equipment_commands import PlaceItem
from monitor.core.grades import Priority, TrialKind
from monitor.core.view import CallMeView, LimitView, OffSupportView, OwnLimitView, TransportView, TrialView
from monitor.desk.menu.table import Item
from monitor.desk.store import Store
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.desk import Desk, press_key, type_keys
from tests.helpers.views import NOW, episode, filled, holder, run, tile, unit

LOW_FLOW = LimitView(rule="flow_low", priority=Priority.MEDIUM, quantity=Q.PUMP_FLOW, above=False, default=3.57)
INLET = LimitView(
    rule="inlet_low", priority=Priority.MEDIUM, quantity=Q.INLET_PRESSURE, above=False, default=-100.0
)
VERY_LOW = LimitView(
    rule="inlet_very_low", priority=Priority.HIGH, quantity=Q.INLET_PRESSURE, above=False, default=-150.0
)
OWN = OwnLimitView(value=-90.0, by="nurse-7", since=NOW - HOUR, until=NOW + 10 * MINUTE, reason="Ordered")
WISH = CallMeView(quantity=Q.PUMP_FLOW, below=3.5, calls="perfusionist", by="charge", until=NOW + HOUR)
AWAY = TransportView(leader="charge", began=NOW - 5 * MINUTE, back=NOW + 40 * MINUTE)
BACK = AWAY.model_copy(update={"ended_at": NOW - MINUTE})
OFF = OffSupportView(by="charge", since=NOW - 74_000)
LIMITS = (LOW_FLOW, INLET, VERY_LOW)


def settable(**more: Any) -> Any:
    return run().model_copy(update={"settable": LIMITS, **more})


def beds(equipment: tuple[ItemView, ...] = (), **fields: Any) -> Store:
    """B2, and B3, which is empty; ``equipment``: the items of the unit."""
    the_unit = unit(("B2", "B3"), equipment=EquipmentView(items=equipment))
    return filled([tile("B2", **fields), tile("B3", runs=())], the_unit=the_unit)


def ready(qtbot: QtBot, who: str | None = "charge", **fields: Any) -> Desk:
    """B2 with the focus, and B3, which is empty."""
    desk = Desk(qtbot, beds(**fields), who=who)
    desk.window.board.set_focus_bed("B2")
    return desk


def press(desk: Desk, keys: str) -> None:
    """Press keys where they would go: the panel while it asks, else the window; ``⏎`` is Enter."""
    for key in keys:
        panel = desk.window.panel
        target = panel if panel.question is not None else desk.window
        if key == "⏎":
            press_key(target, Qt.Key.Key_Return)
        else:
            type_keys(target, key)


def only(desk: Desk) -> Any:
    (command,) = desk.commands()
    return command


def asked(desk: Desk) -> str:
    question = desk.window.panel.question
    return question.title if question is not None else ""


SPARE = ItemView(id="C2", of=ItemKind.CONSOLE, state=ItemState.IN_SERVICE, place="Store", since=NOW)
TRIAL = TrialView(
    kind=TrialKind.TURN_DOWN, by="charge", second="nurse-2", began=NOW, until=NOW + HOUR, floor_flow=1.0
)
TAKEN = episode("Flow 2.2, limit 2.5", Priority.HIGH, holder=holder("charge", reason=None))

#: Every path of the table: the bed as it stands, all keys to the command, and what the command must be.
WALKS: dict[Item, tuple[dict[str, Any], str, type, dict[str, Any]]] = {
    Item.ORDER: ({}, "mo13200⏎1", Order, {"quantity": Q.PUMP_SPEED, "value": 3200.0}),
    Item.TARGET: ({}, "mg14,4⏎", SetTarget, {"quantity": Q.PUMP_FLOW, "value": 4.4}),
    Item.LIMIT: (
        {"runs": (settable(),)},
        "ml2-90⏎21",
        SetLimit,
        {"rule": "inlet_low", "value": -90.0, "second": None, "reason": "Ordered"},
    ),
    Item.CALL_ME: ({}, "mi1b3.5⏎22", SetCallMe, {"quantity": Q.PUMP_FLOW, "below": 3.5, "above": None}),
    Item.EVENT: ({}, "mpoLine change⏎oAt 9⏎15:30⏎", PlanEvent, {"what": "Line change"}),
    Item.CARE: ({}, "mc5", CareMarker, {"minutes": 5}),
    Item.HELP: ({}, "mha", CallHelp, {"what": HelpKind.AIR}),
    Item.REASON: ({"episodes": (TAKEN,)}, "mw2", GiveReason, {"reason": Reason.CIRCULATION_CHECKED}),
    Item.TRANSPORT: (
        {},
        "mt121140600⏎",
        StartTransport,
        {"leader": "charge", "destination": "CT", "cylinder_l": 600.0, "sweep": None},
    ),
    Item.BACK: ({"transport": AWAY}, "mb", EndTransport, {}),
    Item.CYLINDER: ({"transport": AWAY}, "mk1100⏎", ChangeCylinder, {"litres": 1100.0}),
    Item.CHECK: ({"transport": BACK}, "mr", ReturnCheck, {}),
    Item.EXCHANGE: ({}, "mx22", Exchange, {"device": Device.OXYGENATOR, "reason": "Clots seen"}),
    Item.ITEMS: (
        {"runs": (run().model_copy(update={"owed": {"console": NOW}}),), "equipment": (SPARE,)},
        "mj1",
        PlaceItem,
        {"item": "C2", "slot": 1},
    ),
    Item.TRIAL: ({}, "ma1y141,0⏎", StartTrial, {"trial": TrialKind.TURN_DOWN, "floor_flow": 1.0}),
    Item.TRIAL_ENDS: ({"runs": (run().model_copy(update={"trial": TRIAL}),)}, "me", EndTrial, {}),
    Item.RUN_STARTS: (
        {"runs": ()},
        "ms11y10n82⏎178⏎4.2⏎70⏎",
        StartRun,
        {"targets": {Q.PUMP_FLOW: 4.2, Q.MEAN_ARTERIAL_PRESSURE: 70.0}},
    ),
    Item.RUN_ENDS: ({}, "mn1y", EndRun, {"reason": "Weaned"}),
    Item.OFF_SUPPORT: ({}, "mf", GoOffSupport, {"slot": 1}),
    Item.BACK_ON_SUPPORT: (
        {"runs": (run().model_copy(update={"off_support": OFF}),)},
        "my",
        BackOnSupport,
        {"slot": 1},
    ),
    Item.MOVE: ({}, "mv1y", MoveRun, {"to": "B3"}),
}
