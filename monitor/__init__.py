"""The monitor: the hub that judges and records, and the desks that show it."""
