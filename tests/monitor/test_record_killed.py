"""A writer killed at each of its writes and syncs: whatever it had called safe is there, and the chain is whole.

The kill is strace's: the n-th system call of these kinds never happens. A few in the suite, each one with
WEIRKEEPER_LONG=1.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from monitor.record import Record
from tests.helpers.inputs import EPOCH

LONG = os.environ.get("WEIRKEEPER_LONG") == "1"
CALLS = "pwrite64,fdatasync,fsync,ftruncate,unlink"

WRITER = """
import os, sys
from pathlib import Path
from monitor.record import Batch, Checkpoint, Record
from tests.helpers.inputs import AT, EPOCH, commanded, entry, observed
record = Record.open(Path(sys.argv[1]))
entries = 0
for n in range(1, 60):
    if n % 5 == 0:
        record.append(Batch([observed(n, entry(f"out {n}"))], checkpoint=Checkpoint(AT + n, b"engine", b"latest")))
        entries += 1
    else:
        record.append(Batch([observed(n)]))
    if n % 4 == 0:
        record.flush({EPOCH: n})
        os.write(1, f"{entries} {n}\\n".encode())
    if n % 20 == 0:
        record._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
record.close()
os.write(1, b"end\\n")
"""


def killed_at(number: int, path: Path) -> list[str]:
    """Run the writer; its n-th call kills it. Give what it had said, a line for each flush."""
    command = ["strace", "-f", "-o", "/dev/null", "-e", f"trace={CALLS}"]
    command += ["-e", f"inject={CALLS}:signal=KILL:when={number}", sys.executable, "-c", WRITER, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    return done.stdout.split("\n")[:-1]


@pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not installed: no call can be picked")
def test_that_a_kill_at_any_write_takes_back_nothing_that_was_called_safe(tmp_path: Path) -> None:
    number, ended, kills = (1 if LONG else 60), False, 0
    while not ended:
        path = tmp_path / f"{number}.record"
        said = killed_at(number, path)
        ended = said[-1:] == ["end"]
        entries, stored = map(int, said[-2 if ended else -1].split()) if said else (0, 0)
        record = Record.open(path)
        assert record.verify() is None
        assert record.missed is None
        assert record.stored_up_to(EPOCH) >= stored, number
        assert record.held(EPOCH) == []
        assert record.head[0] >= entries
        assert record.doubled == 0
        record.close()
        kills += not ended
        number += 1 if LONG else 190
    assert kills >= 3
