"""What the files of keys are called, apart from what reads them: a desk without keys loads none of that."""

#: Which peers the network knows; in the folder of a unit.
KEYS = "keys.toml"
#: Beside it; what is in it belongs to its owner alone.
FOLDER = "keys"
PUBLIC, SECRET = ".key", ".key_secret"
HUB = "hub"
