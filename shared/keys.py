"""The keys of the network, without the network: a pair for each peer, its fingerprint, what needs one.

Keys are those of CURVE (ZeroMQ RFC 26), written as Z85 text (RFC 32): 40 characters.
"""

import hashlib
from contextlib import suppress
from dataclasses import dataclass, field
from ipaddress import ip_address
from urllib.parse import urlsplit


@dataclass(frozen=True, slots=True)
class Keys:
    """What a peer connects with: its own pair, and the public key by which it knows the hub. Z85 text."""

    own_public: bytes
    own_secret: bytes = field(repr=False)
    hub_public: bytes


def fingerprint(public: str) -> str:
    """Give the short name of a public key, to be read aloud: the first 48 bits of its SHA-256 in hex."""
    digest = hashlib.sha256(public.encode()).hexdigest()
    return "-".join(digest[at : at + 4] for at in (0, 4, 8))


def stays_here(address: str) -> bool:
    """Tell whether an address (``tcp://host:port`` or ``ipc://path``) cannot be reached from another machine."""
    try:
        parts = urlsplit(address)
        host = parts.hostname or ""
    except ValueError:
        return False
    if parts.scheme == "ipc":
        return True
    if parts.scheme != "tcp":
        return False
    with suppress(ValueError):
        return ip_address(host).is_loopback
    return host == "localhost"


def reached_at(address: str) -> str:
    """Give where somebody on the hub's own machine connects: a hub on every interface is on loopback too."""
    for everywhere in ("tcp://*:", "tcp://0.0.0.0:"):
        if address.startswith(everywhere):
            return address.replace(everywhere, "tcp://127.0.0.1:", 1)
    return address


def not_private(mode: int, owner: int, we: int) -> str:
    """Say why a file of a secret key is not its owner's alone; empty: it is.

    Args:
        mode, owner: of the file; ``we``: who runs this program.
    """
    if owner != we:
        return "it belongs to somebody else: give it to who runs this (chown), then chmod 600"
    if mode & 0o077:
        return f"others than its owner may read it (mode {mode & 0o777:04o}): chmod 600, and rotate the key"
    return ""
