"""The commands, one module each: ``add_arguments`` says what it takes, ``run`` does it."""
