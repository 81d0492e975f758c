"""Published formulas as pure functions, each with its source, its units and the range in which it holds."""
