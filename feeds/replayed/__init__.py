"""Recordings played to the hub as if they were read now."""
