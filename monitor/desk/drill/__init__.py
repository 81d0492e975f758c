"""A drill at a desk: invented beds under a band that says TEST, beside live ones that come first."""
