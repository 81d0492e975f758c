"""What the hub stores and never deletes: one SQLite file with every input and every entry.

Start at `Record`. A record that refuses raises `shared.errors.RecordError`; the caller goes on without it.
"""

from monitor.record.batch import Batch, Begin, Checkpoint, Skipped, Step
from monitor.record.configurations import Configured
from monitor.record.record import Record
from monitor.record.verifying import Broken

__all__ = ["Batch", "Begin", "Broken", "Checkpoint", "Configured", "Record", "Skipped", "Step"]
