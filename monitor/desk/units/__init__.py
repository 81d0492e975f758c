"""A review of several units at once: one order of need over all, and beside it each unit's own window."""
