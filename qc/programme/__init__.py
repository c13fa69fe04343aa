"""What the figures mean as a programme: leader, acts, breaks, run-out, timing sheet."""
