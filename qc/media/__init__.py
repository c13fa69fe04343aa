"""The only room that opens media: probe and the one pass over the file (PyAV)."""
