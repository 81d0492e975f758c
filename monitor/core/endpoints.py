"""Where a hub and its peers meet."""

from monitor.core.model import Frozen


class Endpoints(Frozen):
    """Where the hub binds and the others connect."""

    ingest: str = "tcp://127.0.0.1:47311"
    link: str = "tcp://127.0.0.1:47312"
    publish: str = "tcp://127.0.0.1:47313"
    commands: str = "tcp://127.0.0.1:47314"
