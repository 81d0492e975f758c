"""What is written for people to keep: bundles of an incident. It reads the record and draws no window."""
