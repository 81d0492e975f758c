"""Virtual time: engine and beds in one process, as fast as the machine goes. The same engine as on the desk."""
