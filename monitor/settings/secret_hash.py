"""Salted hashes of secrets, by argon2-cffi. Without that package nothing can be checked, and that is said."""

from typing import Any

from shared.errors import ConfigurationError

MISSING = "the package argon2-cffi is not installed, so no secret can be checked: ./weirkeeper setup"


def is_there() -> bool:
    """Tell whether secrets can be hashed and checked; what is needed for it is loaded with the first question."""
    try:
        _hasher()
    except ImportError:
        return False
    return True


def hashed(secret: str) -> str:
    """Give the salted hash of a secret. Raises ConfigurationError where the package is missing."""
    if not is_there():
        raise ConfigurationError(MISSING)
    return str(_hasher().hash(secret))


def fits(secret: str, known: str) -> bool:
    """Tell whether a secret is the one of a hash. Takes some tens of ms; false too for what is no hash."""
    from argon2.exceptions import InvalidHashError, VerificationError

    try:
        return bool(_hasher().verify(known, secret))
    except (VerificationError, InvalidHashError):
        return False


def _hasher() -> Any:
    """Argon2id at the second choice of RFC 9106: 64 MiB, three passes, four lanes (from memory)."""
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=3, memory_cost=65_536, parallelism=4)
