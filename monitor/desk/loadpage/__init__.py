"""The page of alert load: plots first, then the rules and beds that make most of it."""
