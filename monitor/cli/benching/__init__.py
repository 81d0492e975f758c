"""What `monitor bench` is made of: real processes, a floor beside them, and the figures of both."""
