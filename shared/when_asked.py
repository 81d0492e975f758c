"""How checks of messages are made ready: each when it is first asked for, since a process uses few of them.

Making all of them took a third of the start of a command. pydantic makes each under a lock of its own, whichever
thread asks first. Models say the same in their own configuration (``defer_build``).
"""

from pydantic import ConfigDict

WHEN_ASKED = ConfigDict(defer_build=True)
#: The same for messages with texts that are said once and never again: ids of commands and requests, words of an
#: entry. pydantic keeps the newest 16 384 short texts that it reads, for the whole process: 1.7 MB that hours fill.
#: Names of fields are still kept.
SAID_ONCE = ConfigDict(defer_build=True, cache_strings="keys")
