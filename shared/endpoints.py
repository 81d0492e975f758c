"""Where hub, feeds and desks meet: the hub binds all four sockets, everybody else connects.

The ports belong to no well-known service, and lie below those a kernel gives to whoever asks for any (32768 and
up on Linux, 49152 and up by RFC 6335): no passing connection keeps a hub from starting. A unit may choose others.
"""

from dataclasses import dataclass

INGEST_PORT = 17311
LINK_PORT = 17312
PUBLISH_PORT = 17313
COMMANDS_PORT = 17314

LOOPBACK = "127.0.0.1"

#: Settings of every socket; milliseconds except the first two.
HIGH_WATER_MARK = 10_000
HEARTBEAT_IVL = 500
HEARTBEAT_TIMEOUT = 1_500
#: On the command socket: on a slow line a long answer holds up the beats behind it.
HEARTBEAT_TIMEOUT_LEAN = 12_000
CONNECT_TIMEOUT = 1_000
RECONNECT_IVL = 100
LINGER = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Endpoints:
    """The four addresses of one hub, as ``tcp://host:port``.

    Attributes:
        ingest: feeds publish here (hub: SUB).
        link: hello, resend, stored (hub: ROUTER).
        publish: what desks see (hub: PUB).
        commands: what desks ask and tell (hub: ROUTER).
    """

    ingest: str
    link: str
    publish: str
    commands: str


def endpoints_at(host: str = LOOPBACK) -> Endpoints:
    """Give the addresses of a hub on ``host`` with the usual ports."""
    return Endpoints(
        ingest=f"tcp://{host}:{INGEST_PORT}",
        link=f"tcp://{host}:{LINK_PORT}",
        publish=f"tcp://{host}:{PUBLISH_PORT}",
        commands=f"tcp://{host}:{COMMANDS_PORT}",
    )
