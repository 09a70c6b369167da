"""What this copy is made from. `tuyere.staging` writes the hashes when it stages the files for a board."""

CORE = "00" * 32  # SHA-256 of the files of core/
FIRMWARE = "00" * 32  # SHA-256 of all files
