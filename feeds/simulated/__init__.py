"""Simulated beds: a scenario played in time, scripted, from the circuit, or as sets entered by hand."""
