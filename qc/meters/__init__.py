"""Measure once: blocks in, series out. No limit and no station in sight."""
