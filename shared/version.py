"""The version of the program; `pyproject.toml` says the same, and a test holds them together."""

VERSION = "0.1.0"
