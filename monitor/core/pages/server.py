"""The mail server that takes pages, and the number that whoever is paged rings."""

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from monitor.core.model import Frozen

#: Digits and what stands between them.
Telephone = Annotated[str, Field(max_length=24, pattern=r"^[0-9 +*#/()-]*$")]
MailAddress = Annotated[str, Field(max_length=254, pattern=r"^[!-~]+@[!-~]+$")]


class Tls(StrEnum):
    """How the line to the mail server is kept private: begun in the clear, from the first byte, or not at all."""

    STARTTLS = "starttls"
    FROM_START = "from_start"
    NONE = "none"


class PageServer(Frozen):
    """The mail server that takes pages. Without a user nobody logs in.

    ``password_file`` and ``ca_file`` are paths within the configuration folder, or absolute ones.
    """

    host: str = Field(min_length=1, max_length=253)
    port: int = Field(default=587, ge=1, le=65_535)
    sender: MailAddress
    tls: Tls = Tls.STARTTLS
    ca_file: str = ""
    user: str = Field(default="", max_length=120)
    password_file: str = ""
    timeout_s: float = Field(default=10, ge=0.5, le=60)
