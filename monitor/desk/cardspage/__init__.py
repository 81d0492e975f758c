"""The handover cards (key X): one for the unit and one a bed, and the way to offer and accept."""
