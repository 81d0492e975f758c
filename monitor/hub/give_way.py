"""Let a child process of the hub wait for the processor where both want one: the watch comes first."""

import os
import subprocess
from contextlib import suppress

_NICE = 10


def give_way(child: subprocess.Popen[bytes]) -> None:
    """Lower the priority of a child that was just started; where that cannot be done it is only not behind."""
    with suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, child.pid, _NICE)
