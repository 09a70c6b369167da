"""What runs at power-up."""

from hearth import board, loop

found = board.open_board()
if found:  # None when files are to be loaded
    loop.run(found)
