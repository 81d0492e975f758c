"""How each kind of rule is judged on one observation: a function from readings to a verdict."""
