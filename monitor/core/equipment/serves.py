"""What can be exchanged for what."""

from monitor.core.commands import Device
from monitor.core.equipment.table import ItemKind

#: The device itself, or a whole circuit that has it.
SERVES = {
    Device.PUMP_HEAD: (ItemKind.PUMP_HEAD, ItemKind.CIRCUIT),
    Device.OXYGENATOR: (ItemKind.OXYGENATOR, ItemKind.CIRCUIT),
    Device.TUBING: (ItemKind.TUBING, ItemKind.CIRCUIT),
    Device.CONSOLE: (ItemKind.CONSOLE,),
}
