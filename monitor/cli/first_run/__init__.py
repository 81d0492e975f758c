"""A station's first start: six questions, and the configuration folder that the answers make."""
