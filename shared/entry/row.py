"""The base of every table of ``config/entry.toml``."""

from pydantic import BaseModel, ConfigDict


class Row(BaseModel):
    """Strict, nothing extra, never changed."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)
