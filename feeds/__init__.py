"""The feeds: whatever publishes a bed's observations: simulated, replayed or entered by hand."""
