"""Whether the texts of a configuration are those of a drill, without reading the rest of them."""

import tomllib
from collections.abc import Mapping

from pydantic import ValidationError

from monitor.core.drill import Drill

_UNIT = "unit.toml"


def drill_in(files: Mapping[str, str]) -> Drill | None:
    """Give the drill that a configuration says it is; ``None``: it is none, or its text cannot be read today.

    Args:
        files: text by path within the configuration folder, as a record keeps it.
    """
    try:
        said = tomllib.loads(files.get(_UNIT, "")).get("drill")
        return None if said is None else Drill.model_validate(said, strict=False)
    except (tomllib.TOMLDecodeError, ValidationError):
        return None
