"""Diagrams as plain SVG: rows of arrows between states, and bars of time. They know nothing of what they show."""
