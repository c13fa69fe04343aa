"""A verdict, written down. Decides nothing."""
