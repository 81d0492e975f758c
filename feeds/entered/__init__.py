"""Rounds typed at a bed: the form, a feed like any other. How it looks at numbers: `shared.entry`."""
