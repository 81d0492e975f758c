"""The sockets of a feed: every setting is set, and off the machine nothing goes without keys."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import zmq
import zmq.auth

from feeds.sockets import connect, load_keys
from shared.errors import ConfigurationError
from shared.frames import PART_LIMIT
from shared.keys import Keys, stays_here
from tests.feeds.fake_hub import free_port

Context = zmq.Context["zmq.Socket[bytes]"]


@pytest.fixture
def context() -> Iterator[Context]:
    made: Context = zmq.Context()
    yield made
    made.destroy(linger=0)


@pytest.fixture
def files(tmp_path: Path) -> Path:
    zmq.auth.create_certificates(tmp_path, "north")
    zmq.auth.create_certificates(tmp_path, "hub")
    (tmp_path / "north.key_secret").chmod(0o600)
    return tmp_path


@pytest.mark.parametrize("kind", [zmq.PUB, zmq.DEALER])
def test_that_every_setting_of_the_protocol_is_set(context: Context, kind: int) -> None:
    wanted = {
        zmq.SNDHWM: 10_000,
        zmq.RCVHWM: 10_000,
        zmq.MAXMSGSIZE: PART_LIMIT,
        zmq.HEARTBEAT_IVL: 500,
        zmq.HEARTBEAT_TIMEOUT: 1_500,
        zmq.CONNECT_TIMEOUT: 1_000,
        zmq.RECONNECT_IVL: 100,
        zmq.LINGER: 200,
        zmq.IDENTITY: b"north",
    }
    with connect(context, kind, f"tcp://127.0.0.1:{free_port()}", "north", None) as sock:
        assert {option: sock.getsockopt(option) for option in wanted} == wanted


@pytest.mark.parametrize(
    ("address", "stays"),
    [
        ("tcp://127.0.0.1:1", True),
        ("tcp://127.9.9.9:1", True),
        ("tcp://[::1]:1", True),
        ("tcp://localhost:1", True),
        ("ipc:///run/hub", True),
        ("tcp://0.0.0.0:1", False),
        ("tcp://*:1", False),
        ("tcp://192.0.2.1:1", False),
        ("tcp://hub.example:1", False),
        ("tcp://localhost.example:1", False),
        ("rubbish", False),
    ],
)
def test_that_only_loopback_counts_as_this_machine(address: str, stays: bool) -> None:
    assert stays_here(address) is stays


def test_that_an_address_off_the_machine_is_refused_without_keys(context: Context) -> None:
    with pytest.raises(ConfigurationError, match=r"192\.0\.2\.1:9 leaves this machine: give keys"):
        connect(context, zmq.PUB, "tcp://192.0.2.1:9", "north", None)


def test_that_an_address_that_is_none_is_named(context: Context) -> None:
    with pytest.raises(ConfigurationError, match="is no address to connect to"):
        connect(context, zmq.PUB, "tcp://127.0.0.1:notaport", "north", None)


@contextmanager
def hub_with_keys(context: Context, files: Path) -> Iterator[tuple["zmq.Socket[bytes]", str]]:
    public, secret = zmq.auth.load_certificate(files / "hub.key_secret")
    assert secret is not None
    with context.socket(zmq.ROUTER) as router:
        router.curve_server, router.curve_publickey, router.curve_secretkey = True, public, secret
        address = f"tcp://127.0.0.1:{free_port()}"
        router.bind(address)
        yield router, address


def test_that_a_feed_with_the_hubs_key_is_heard(context: Context, files: Path) -> None:
    keys = load_keys(files / "north.key_secret", files / "hub.key")
    with (
        hub_with_keys(context, files) as (router, address),
        connect(context, zmq.DEALER, address, "north", keys) as dealer,
    ):
        assert dealer.poll(5_000, zmq.POLLOUT)
        dealer.send(b"hello")
        assert router.poll(5_000)
        assert router.recv_multipart()[0][:1] == b"\0", "its line has no name that another could take"


def test_that_a_secret_key_that_others_may_read_is_refused(files: Path) -> None:
    (files / "north.key_secret").chmod(0o640)
    with pytest.raises(ConfigurationError, match=r"others than its owner may read it \(mode 0640\): chmod 600"):
        load_keys(files / "north.key_secret", files / "hub.key")


def test_that_a_feed_with_another_hubs_key_is_not_heard(context: Context, files: Path) -> None:
    own = load_keys(files / "north.key_secret", files / "hub.key")
    stray, _ = zmq.curve_keypair()
    keys = Keys(own.own_public, own.own_secret, stray)
    with (
        hub_with_keys(context, files) as (router, address),
        connect(context, zmq.DEALER, address, "north", keys) as dealer,
    ):
        assert not dealer.poll(500, zmq.POLLOUT), "no connection that could carry anything"
        assert not router.poll(0)


@pytest.mark.parametrize(
    ("own", "hub", "words"),
    [
        ("north.key", "hub.key", "holds no secret key"),
        ("nowhere", "hub.key", "cannot be read"),
        ("north.key_secret", "nowhere", "cannot be read"),
    ],
)
def test_that_wrong_key_files_are_named(files: Path, own: str, hub: str, words: str) -> None:
    with pytest.raises(ConfigurationError, match=words):
        load_keys(files / own, files / hub)
