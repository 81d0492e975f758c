"""The pictures of the user's manual and of the README, and the manual on paper."""
