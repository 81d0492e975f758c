"""The equipment of the unit: where every item is, how it stands, and whether it counts as a spare that is ready."""
