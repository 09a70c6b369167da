"""`python -m tuyere` is the command `tuyere`."""

from tuyere.cli.main import main

main(prog_name="tuyere")
