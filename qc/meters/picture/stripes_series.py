"""What the series stripes.found holds, for the meter and for whoever reads it.

frame      of the look
area       percent of the screen
direction  in which the stripes run, degrees from the horizontal, 0 to 180
pairs      light-dark pairs side by side
contrast   least contrast while they were followed, as a part of the most
drift      net movement meanwhile, in periods, across their direction
wander     movement to and fro beside that
jump       most that they moved from one frame to the next (0.5 is a reversal of light and dark)
"""

COLUMNS = ("frame", "area", "direction", "pairs", "contrast", "drift", "wander", "jump")
#: Looks per second.
LOOKS = 2
