"""Small painting primitives: marks, text, trend lines, the staff and the plates.

Each takes a painter, a place, what to show and a theme. None keeps state, knows the pointer or moves by itself.
"""
