"""From the files of a configuration folder to core's frozen models. Reads TOML and nothing else.

A fault names file, line, key, value and what is allowed; all faults are told at once.
"""

from monitor.settings.loading import (
    configuration_of,
    load_configuration,
    load_entry,
    load_entry_in,
    load_ladder,
    load_limits,
    load_limits_and_ladder,
    load_patterns,
    load_patterns_in,
    load_profiles,
    load_unit,
    texts_in,
)
from shared.written.faults import Fault, SettingsError

__all__ = [
    "Fault",
    "SettingsError",
    "configuration_of",
    "load_configuration",
    "load_entry",
    "load_entry_in",
    "load_ladder",
    "load_limits",
    "load_limits_and_ladder",
    "load_patterns",
    "load_patterns_in",
    "load_profiles",
    "load_unit",
    "texts_in",
]
