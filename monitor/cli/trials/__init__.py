"""The trial: the real logic of feeds, hub and desks on a virtual network, clock and disk. Start at `play`."""
