"""The desk's sounds: bursts by priority, when they are due, and a player that says what state it is in."""
