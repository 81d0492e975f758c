"""Pages out: from a call to a mail server, beside the hub's own thread. Start at `Outbox`."""

from monitor.hub.pages.outbox import Outbox
from monitor.hub.pages.post import Post, post_for

__all__ = ["Outbox", "Post", "post_for"]
