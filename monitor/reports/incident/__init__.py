"""An incident, frozen for review: a slice of the record, judged again, and written so that a person can read it."""
