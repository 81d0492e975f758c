"""Alerts and who answers them: their life, what belongs together, the ladder, responsibility."""
