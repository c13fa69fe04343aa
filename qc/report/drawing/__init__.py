"""Drawings for the HTML reports: inline SVG without script, every word from outside escaped."""
