"""The contract between feeds and monitor, and what both sides need: pure, no input or output."""
