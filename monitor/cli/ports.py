"""Free ports on this machine, for a demonstration beside whatever else runs here."""

import socket
from contextlib import ExitStack

from monitor.core.endpoints import Endpoints


def free_endpoints() -> Endpoints:
    """Give four loopback endpoints that were free a moment ago."""
    with ExitStack() as stack:
        sockets = [stack.enter_context(socket.socket()) for _ in range(4)]
        for each in sockets:
            each.bind(("127.0.0.1", 0))
        ports = [each.getsockname()[1] for each in sockets]
    ingest, link, publish, commands = (f"tcp://127.0.0.1:{port}" for port in ports)
    return Endpoints(ingest=ingest, link=link, publish=publish, commands=commands)
