"""The command line: one file per command. Parses, calls, prints; no logic of its own."""
