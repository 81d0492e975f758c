"""The page of the unit's equipment (key B)."""
