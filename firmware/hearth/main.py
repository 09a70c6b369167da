"""What runs at power-up."""

from hearth import board, loop

loop.run(board.open_board())
