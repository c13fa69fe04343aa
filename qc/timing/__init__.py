"""Frames, spans and timecode: integers and exact rates. Every other room stands on this one."""
