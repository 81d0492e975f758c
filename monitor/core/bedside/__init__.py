"""What people write down at a bed: orders, targets, limits, runs, transports, trials, care, help."""
