"""The page of key E: the unit's emergency cards, one of them large, its steps ticked at the bed in focus."""
