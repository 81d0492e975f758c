"""``python -m monitor COMMAND ...``."""

import sys

from monitor.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
