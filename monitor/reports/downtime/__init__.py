"""The downtime sheet: all beds on paper as the record ends, for the hours in which the board is dark."""
