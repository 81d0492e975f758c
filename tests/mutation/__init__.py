"""Mutants of the tables and of the interpreters, judged by the project's tests: ``python -m tests.mutation``."""
