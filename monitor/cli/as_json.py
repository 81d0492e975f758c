"""Figures for machines, with the cautions before them."""

import json
from collections.abc import Mapping

from shared.cautions import ON_PAPER


def as_json(figures: Mapping[str, object], indent: int | None = 1) -> str:
    """Write figures as one JSON object."""
    return json.dumps({"cautions": ON_PAPER, **figures}, indent=indent, ensure_ascii=False)
