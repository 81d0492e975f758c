"""Warnings that a test expects."""

import logging

import pytest


def expect_logged(caplog: pytest.LogCaptureFixture, *texts: str) -> None:
    """Check that each text was logged as a warning or worse, and that no other warning was; then clear the log."""
    messages = [record.getMessage() for record in caplog.records if record.levelno >= logging.WARNING]
    for text in texts:
        assert any(text in message for message in messages), f"{text!r} was not logged: {messages}"
    stray = [message for message in messages if not any(text in message for text in texts)]
    assert not stray, f"logged and not expected: {stray}"
    caplog.clear()
