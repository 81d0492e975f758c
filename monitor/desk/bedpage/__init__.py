"""One bed in full: trends on one time axis, the numbers that matter, who has it, and what happened."""
