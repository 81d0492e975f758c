"""The files of one peer's keys (certificates of `zmq.auth`): made, read, and refused where others may read them."""

import os
import tempfile
from pathlib import Path

import zmq.auth

from monitor.settings.key_names import PUBLIC, SECRET
from shared.errors import ConfigurationError
from shared.keys import Keys, not_private


def load_pair(path: Path) -> tuple[bytes, bytes]:
    """Read a secret key file: the public key and the secret one.

    Raises:
        ConfigurationError: it is missing, holds no such key, or others may read it.
    """
    try:
        found = path.stat()
        public, secret = zmq.auth.load_certificate(path)
    except (OSError, ValueError) as error:
        raise ConfigurationError(f"the key {path} cannot be read: {error}") from error
    if secret is None:
        raise ConfigurationError(f"{path} holds no secret key: give the file NAME{SECRET}")
    wrong = not_private(found.st_mode, found.st_uid, os.geteuid())
    if wrong:
        raise ConfigurationError(f"{path}: {wrong}")
    return public, secret


def load_keys(own: Path, hub: Path) -> Keys:
    """Read what a peer connects with: its own secret key file and the hub's public one.

    Raises:
        ConfigurationError: a file is missing or holds no such key, or others may read the secret one.
    """
    public, secret = load_pair(own)
    try:
        hub_public, _ = zmq.auth.load_certificate(hub)
    except (OSError, ValueError) as error:
        raise ConfigurationError(f"the hub's key {hub} cannot be read: {error}") from error
    return Keys(public, secret, hub_public)


def make_pair(folder: Path, name: str) -> str:
    """Make a pair and put its two files into ``folder``, for its owner alone; give the public key.

    What was there under this name is replaced, the secret file first, each in one step.

    Raises:
        ConfigurationError: the folder cannot be written.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".new.") as made:  # nobody else may look into it
            for written in sorted(zmq.auth.create_certificates(made, name), reverse=True):
                _safe(Path(written))
                Path(written).replace(folder / Path(written).name)
    except OSError as error:
        raise ConfigurationError(f"the key cannot be written into {folder}: {error.strerror or error}") from error
    return zmq.auth.load_certificate(folder / f"{name}{PUBLIC}")[0].decode("ascii")


def _safe(path: Path) -> None:
    number = os.open(path, os.O_RDONLY)
    try:
        os.fchmod(number, 0o600)
        os.fsync(number)
    finally:
        os.close(number)
