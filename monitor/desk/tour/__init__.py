"""A guided tour over the demonstration: what to look at, and what to press, in the running desk itself."""
