"""The engine: rules, alerts, episodes, ladder and responsibility. Pure: events and times in, effects out."""
