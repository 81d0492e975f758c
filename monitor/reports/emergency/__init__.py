"""The unit's emergency cards on paper."""
