"""The roster at the desk: who stands where, what is offered, what will be empty, and the keys that change it."""
