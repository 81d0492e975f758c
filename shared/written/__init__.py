"""Files that people write, as TOML: to a frozen model, every fault with file, line, key and what is allowed.

Both sides read the unit's folder with this: the monitor all of it, the entry form what it needs.
"""
