"""The desk: a thin Qt window on what the hub says. It holds no truth and judges nothing."""
