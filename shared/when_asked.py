"""How checks of messages are made ready: each when it is first asked for, since a process uses few of them.

Making all of them took a third of the start of a command. pydantic makes each under a lock of its own, whichever
thread asks first. Models say the same in their own configuration (``defer_build``).
"""

from pydantic import ConfigDict

WHEN_ASKED = ConfigDict(defer_build=True)
