"""What all commands share: an id drawn by the desk, the same when sent again, and the person who gives it."""

from typing import Annotated

from pydantic import Field

from monitor.core.model import Frozen
from shared.messages import Name

CommandId = Annotated[str, Field(min_length=4, max_length=40, pattern=r"^[A-Za-z0-9._:-]+$")]
Words = Annotated[str, Field(max_length=120)]


class CommandBase(Frozen):
    """What all commands share. ``person`` is a roster name.

    ``break_glass``: why somebody acts at a bed that is not theirs; it counts only where the role would not do.
    """

    id: CommandId
    person: Name
    break_glass: Words = ""
