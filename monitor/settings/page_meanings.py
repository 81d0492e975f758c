"""What each key of ``[pages]`` and ``[drill]`` means: who is told outside the desks, and where nobody ever is."""

from collections.abc import Mapping
from types import MappingProxyType

PAGE_MEANINGS: Mapping[str, Mapping[str, str]] = MappingProxyType({
    "PageServer": {
        "host": "name or address of the mail server",
        "port": "its port",
        "sender": "address that pages come from",
        "tls": "starttls: the line is made private before anything is told; from_start: it is from the first byte; "
        "none: it is not",
        "ca_file": "certificates that are trusted, as PEM; left out: those of this machine",
        "user": "who logs in; left out: nobody does",
        "password_file": "file with the password alone, which only its owner may read (mode 0600)",
        "timeout_s": "seconds that the server may take for an answer",
    },
    "Drill": {
        "title": "what is practised",
        "begun_by": "who began it; empty: at a desk that watches nobody",
        "beside": "the unit whose live beds are watched at the same desk",
    },
})  # fmt: skip
