"""What `check` finds on this machine, apart from the configuration: screen, font, sound, room, keys, the hub."""
