"""Signing in: what a desk, or whatever else people type at, asks of the hub on `commands`, and what it is told.

The hub alone looks at secrets. A session is text that the hub made; it goes along with what is said under the name,
outlives a restart of the hub, and ends when the secret is changed or the name is revoked.
"""

from typing import Annotated, Literal

from pydantic import Field

from shared.messages import Message, Name

#: Digits, so that a number pad will do.
Secret = Annotated[str, Field(pattern=r"^[0-9]{4,12}$")]
Session = Annotated[str, Field(max_length=160)]


class SignIn(Message):
    """A person at a desk says who they are."""

    type: Literal["sign_in"] = "sign_in"
    request: str = Field(max_length=40)
    person: Name
    secret: Secret = Field(repr=False)


class SignOut(Message):
    """Whoever signed in at a desk is signed out there; ``why``, where they did not do it themselves. No answer."""

    type: Literal["sign_out"] = "sign_out"
    session: Session = Field(repr=False)
    why: str = Field(default="", max_length=60)


class SignedIn(Message):
    """The answer: a session, or why there is none, and after how many seconds it may be tried again."""

    type: Literal["signed_in"] = "signed_in"
    request: str
    person: Name
    session: Session = Field(default="", repr=False)
    reason: str = ""
    wait_s: int = 0
