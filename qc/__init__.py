"""Airworthy: will every station accept this finished episode, and if not, what must change?"""

__version__ = "0.1.0"
