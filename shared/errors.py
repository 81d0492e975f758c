"""The four kinds of error, each with one policy."""


class WeirkeeperError(Exception):
    """Base of all errors that Weirkeeper raises on purpose; its text is for a person."""


class OurError(WeirkeeperError):
    """A defect of ours: let it end what it was doing, with everything that is known about it."""


class PeerError(WeirkeeperError):
    """The other side of a socket did wrong: count it, refuse it, change nothing for anybody else."""


class ConfigurationError(WeirkeeperError):
    """A file that people write is wrong: name the place and what is allowed, start nothing."""


class RecordError(WeirkeeperError):
    """The record refuses: go on, mark NOT RECORDED, keep what is owed and write it when it can be."""
