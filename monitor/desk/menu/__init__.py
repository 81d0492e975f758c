"""What is written down at a bed, flow by flow."""
