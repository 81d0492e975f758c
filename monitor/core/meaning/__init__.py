"""What the numbers mean: worked out of a run's readings when somebody asks. No rule reads any of it."""
