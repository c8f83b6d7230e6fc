"""The nouns that pass between the stages: frozen, of plain numbers and tuples.

Lengths are mm, angles degrees counter-clockwise, y up. Nothing here computes;
what a noun means stands in the class, what is done with it in the room that
does it.

Frames
------
shape frame
    Origin in the middle of the bounding box of the lowest part's outline, x to
    the right, y to the back, seen from above.
blank frame
    Origin at the front left corner of the blank, seen from above. Used for
    every sheet of the stack, every file and the drill-hole schedule.
pose
    ``p' = R(angle) M p + (x, y)`` where M mirrors in x if ``mirror``.
"""
