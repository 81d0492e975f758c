"""A rehearsal timed: ``... rehearsing FOLDER`` plays the folder's scenario and says what it took of a processor."""

import json
import sys
import time
from pathlib import Path

from monitor.cli.benching.unit import scenarios_in
from monitor.rehearsal.rehearse import rehearse
from monitor.settings import load_limits_and_ladder, load_patterns_in, load_profiles


def play(folder: Path) -> tuple[float, int]:
    """Give the seconds of processor time that a rehearsal took, and how many entries it wrote.

    Raises:
        ConfigurationError: the folder is wrong.
    """
    [scenario] = scenarios_in(folder)
    limits, ladder = load_limits_and_ladder(folder)
    entries = rehearse(scenario, limits, ladder, load_profiles(folder), patterns=load_patterns_in(folder))
    began = time.process_time()
    count = sum(1 for _ in entries)
    return time.process_time() - began, count


if __name__ == "__main__":
    seconds, written = play(Path(sys.argv[1]))
    print(json.dumps({"cpu_s": seconds, "entries": written}), flush=True)
