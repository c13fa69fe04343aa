"""What the series say of any span and channel group: loudness, peaks, black, silence."""
