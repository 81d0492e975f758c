"""The two sockets of a feed, with every setting that the protocol asks for."""

import os
from pathlib import Path

import zmq
import zmq.auth

from shared import endpoints
from shared.errors import ConfigurationError
from shared.frames import PART_LIMIT
from shared.keys import Keys, not_private, stays_here


def load_keys(own: Path, hub: Path) -> Keys:
    """Read the feed's own secret key file and the hub's public key file (certificates of `zmq.auth`).

    Raises:
        ConfigurationError: a file is missing or holds no such key, or others may read the secret one.
    """
    try:
        found = own.stat()
        public, secret = zmq.auth.load_certificate(own)
        hub_public, _ = zmq.auth.load_certificate(hub)
    except (OSError, ValueError) as error:
        raise ConfigurationError(f"the keys cannot be read: {error}") from error
    if secret is None:
        raise ConfigurationError(f"{own} holds no secret key: give the feed's own file, NAME.key_secret")
    wrong = not_private(found.st_mode, found.st_uid, os.geteuid())
    if wrong:
        raise ConfigurationError(f"{own}: {wrong}")
    return Keys(public, secret, hub_public)


def connect(
    context: "zmq.Context[zmq.Socket[bytes]]", kind: int, address: str, identity: str, keys: Keys | None
) -> "zmq.Socket[bytes]":
    """Make a socket of ``kind`` (PUB or DEALER) and connect it; it connects when the hub comes.

    Raises:
        ConfigurationError: the address is none, or leaves this machine and no keys are given.
    """
    if not stays_here(address) and keys is None:
        raise ConfigurationError(f"{address} leaves this machine: give keys (--key and --hub-key)")
    sock: zmq.Socket[bytes] = context.socket(kind)
    sock.set_hwm(endpoints.HIGH_WATER_MARK)
    sock.setsockopt(zmq.MAXMSGSIZE, PART_LIMIT)
    sock.setsockopt(zmq.HEARTBEAT_IVL, endpoints.HEARTBEAT_IVL)
    sock.setsockopt(zmq.HEARTBEAT_TIMEOUT, endpoints.HEARTBEAT_TIMEOUT)
    sock.setsockopt(zmq.CONNECT_TIMEOUT, endpoints.CONNECT_TIMEOUT)
    sock.setsockopt(zmq.RECONNECT_IVL, endpoints.RECONNECT_IVL)
    sock.setsockopt(zmq.LINGER, endpoints.LINGER)
    if keys is None:  # with keys the peer is its key, and nobody can take the name of its line
        sock.setsockopt(zmq.IDENTITY, identity.encode("ascii"))
    if kind == zmq.DEALER:
        sock.setsockopt(zmq.IMMEDIATE, 1)  # no pile of hellos for a hub that is not there
    if keys is not None:
        sock.curve_publickey, sock.curve_secretkey = keys.own_public, keys.own_secret
        sock.curve_serverkey = keys.hub_public
    try:
        sock.connect(address)
    except zmq.ZMQError as error:
        sock.close(linger=0)
        raise ConfigurationError(f"{address} is no address to connect to: {error}") from error
    return sock
