"""A process that loses what it is told to: ``python -m tests.helpers.leaking memory|descriptor|thread|nothing``.

For each line on standard input it takes a step and answers with a line; it works as much whether it loses or not.
"""

import socket
import sys
import threading

#: Of the 4.6 MB of its own that a bare interpreter holds, less than a half thousandth.
_LOST = 2_000


def main(what: str) -> None:
    """Step until standard input ends."""
    kept: list[object] = []
    idle = threading.Event()
    for _ in sys.stdin:
        for size in range(_LOST, _LOST + 50):
            bytearray(size)
        if what == "memory":
            kept.append(bytearray(b"x" * _LOST))
        elif what == "descriptor":
            kept.append(socket.socket())
        elif what == "thread":
            threading.Thread(target=idle.wait, daemon=True).start()
        sys.stdout.write("stepped\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1])
