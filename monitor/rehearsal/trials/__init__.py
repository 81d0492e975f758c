"""What a trial is made of besides the unit itself: virtual time and network, the plan of a seed, and its story.

Nothing here knows a hub, a desk or a feed: `monitor.cli.trials` puts the real ones between.
"""
