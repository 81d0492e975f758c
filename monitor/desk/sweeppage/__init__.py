"""The sweep: one bed after the other by keyboard, each look written down (key V)."""
