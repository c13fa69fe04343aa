"""What to change, in numbers, and what the figures become after it."""
