"""From the files of a configuration folder to core's frozen models. Reads TOML and nothing else."""

from monitor.settings.loading import (
    load_configuration,
    load_ladder,
    load_limits,
    load_limits_and_ladder,
    load_profiles,
    load_unit,
)

__all__ = [
    "load_configuration",
    "load_ladder",
    "load_limits",
    "load_limits_and_ladder",
    "load_profiles",
    "load_unit",
]
