"""The desk of a bench: ``... desk PAST_BEDS WORDS`` is `monitor desk WORDS` with somebody who watches it paint.

The desk is the one of the product, started by its own command line. When it has opened it says so, in a line; then
it answers ``glass`` (which observations were painted when) and ``repaint`` (what it takes to draw everything anew).
"""

import sys

from shared.commandline import imported

if __name__ == "__main__":
    # Whoever watches loads much of what the desk does: as the command line does, without a search for garbage.
    raise SystemExit(imported("monitor.cli.benching.onlooker").run(int(sys.argv[1]), sys.argv[2:]))
