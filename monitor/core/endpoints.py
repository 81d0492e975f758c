"""Where a hub and its peers meet."""

from monitor.core.model import Frozen


class Endpoints(Frozen):
    """Where the hub binds and the others connect."""

    ingest: str = "tcp://127.0.0.1:17311"
    link: str = "tcp://127.0.0.1:17312"
    publish: str = "tcp://127.0.0.1:17313"
    commands: str = "tcp://127.0.0.1:17314"
