"""What was done in a drill, as facts, from its own record."""
