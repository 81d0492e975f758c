"""Tests with real processes, real sockets between them, and real kills."""
