"""The list of what is due over all beds (key O)."""
