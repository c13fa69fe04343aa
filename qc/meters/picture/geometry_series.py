"""Constants of the series fields.*, active.* and stuck.*, for the meters and for whoever reads them."""

from __future__ import annotations

#: Every so many frames two that follow each other are compared for their field order: no multiple of the periods of
#: pulled-down or repeated pictures (2 to 6).
FIELDS_EVERY = 7

#: Every so many frames the edges are looked at; the order of the sides; the count where every line is blank.
EDGES_EVERY = 8
SIDES = ("left", "top", "right", "bottom")
NOTHING = 65535

#: Spread of a pixel's value, codes of 8 bits, up to which it stands at one value whatever the picture.
SPREAD = 20
