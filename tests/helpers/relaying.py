"""Relays as a process, so that they can stand on another machine.

``python -m tests.helpers.relaying FILE FROM TO ...``: FILE holds how many seconds each of them delays what passes,
one way; it is looked at again and again. FROM and TO are addresses, as many pairs as there are lines.
"""

import selectors
import sys
from contextlib import ExitStack
from pathlib import Path

from tests.helpers.relay import Relay


def main(said: Path, addresses: list[str]) -> None:
    """Pass on until the process is killed."""
    with ExitStack() as stack, selectors.DefaultSelector() as pause:
        pairs = zip(addresses[::2], addresses[1::2], strict=True)
        relays = [stack.enter_context(Relay(to, at=at)) for at, to in pairs]
        sys.stdout.write("relays ready\n")
        sys.stdout.flush()
        while True:
            for relay in relays:
                relay.line.delay_s = float(said.read_text() or 0)
            pause.select(0.05)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
