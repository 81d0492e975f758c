"""Which sound devices this machine has, asked in a process: ``python -m monitor.cli.checking.sound_report``.

The libraries that know it may wait for a sound server that does not answer, or end the process that asks.
"""

import json
from collections.abc import Sequence

from monitor.cli.asked_apart import asked_apart
from monitor.cli.checking.found import Found


def sound_report() -> tuple[str, ...] | None:
    """Give the names of the devices that a desk could sound through; ``None``: the question had no answer."""
    names = asked_apart("monitor.cli.checking.sound_report")
    return None if names is None else tuple(str(name) for name in names)


def sound_found(devices: Sequence[str] | None) -> Found:
    """Say whether a desk on this machine could be heard, and what to do where not."""
    if devices is None:
        said = "this machine's sound did not answer. Open a desk here: its header says how its sound stands."
        return Found("Sound", (said,), is_wrong=True)
    if not devices:
        said = (
            "NO DEVICE on this machine: a desk here shows needs and sounds none. Plug in a loudspeaker; an open "
            "desk finds it by itself. A hub alone needs none."
        )
        return Found("Sound", (said,), is_wrong=True)
    return Found("Sound", (f"{devices[0]}. Only ears tell whether it is heard: a desk asks when it opens.",))


def _tell() -> None:
    from PySide6.QtCore import QCoreApplication, QLoggingCategory
    from PySide6.QtMultimedia import QMediaDevices

    QLoggingCategory.setFilterRules("qt.multimedia.*=false")
    application = QCoreApplication([])
    names = [device.description() for device in QMediaDevices.audioOutputs()]
    del application
    print(json.dumps(names))


if __name__ == "__main__":
    _tell()
