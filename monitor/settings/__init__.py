"""From the files of a configuration folder to core's frozen models. Reads TOML and nothing else.

A fault names file, line, key, value and what is allowed; all faults are told at once.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from shared.written.faults import Fault, SettingsError

if TYPE_CHECKING:
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


def __getattr__(name: str) -> object:
    """Give what reads configurations, loaded when it is first asked for: a desk needs keys and cards alone."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    given: object = getattr(import_module("monitor.settings.loading"), name)
    return given
