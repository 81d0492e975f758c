"""Who may do what: the table of roles, and how the engine holds every command to it."""
