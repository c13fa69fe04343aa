"""A short season with planted faults: rendered here, checked here, compared with the truth."""
