"""Who stands where, for how long, and who comes next: shifts, offers, breaks, reachability, forecast."""
