"""The base of core's frozen models: strict, nothing extra."""

from pydantic import BaseModel, ConfigDict


class Frozen(BaseModel):
    """A value that never changes and admits no field that it does not know.

    The texts in it are kept by nobody else (``shared.when_asked.SAID_ONCE``).
    """

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True, cache_strings="keys"
    )
