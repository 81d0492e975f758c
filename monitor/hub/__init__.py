"""The hub: headless, one process, one thread. It lets in, judges, records, then tells the desks.

Start at `monitor.hub.runner.Hub`.
"""
