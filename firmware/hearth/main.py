"""What runs at power-up."""

import gc

if hasattr(gc, "threshold"):  # MicroPython: what stays is not to be scattered among the garbage of loading
    gc.threshold(16384)

from hearth import board, loop

found = board.open_board()
if hasattr(gc, "threshold"):
    gc.threshold(-1)  # from here on the loop collects when it has time
if found:  # None when files are to be loaded
    loop.run(found)
