"""A question to this machine that may end the process that asks it, or have no answer: asked in one of its own."""

import json
import subprocess
import sys
from collections.abc import Mapping
from typing import Any

_WITHIN_S = 10.0


def asked_apart(module: str, environment: Mapping[str, str] | None = None) -> Any:
    """Run a module that prints its answer as JSON, and give that; ``None``: there was none within 10 s."""
    try:
        asked = subprocess.run(
            [sys.executable, "-m", module],
            env=None if environment is None else dict(environment),
            capture_output=True,
            timeout=_WITHIN_S,
            check=True,
        )
        return json.loads(asked.stdout)
    except (OSError, subprocess.SubprocessError, ValueError):
        return None
