"""A drill put together: its folder of invented beds, its processes, and what was done, once it is over."""
