# mypy: ignore-errors
"""The twin's flash: littlefs on a file of 4 KB blocks if the interpreter has it, else a plain folder.

The file survives a power cut. On MicroPython it is the same filesystem as on the board (`vfs.VfsLfs2`, mounted as in
`_boot.py` of the rp2 port).
"""

import os

BLOCK = 4096
IMAGE = "flash.bin"
EIO = 5


class Blocks:
    """A block device of `count` blocks in a file, for `vfs.VfsLfs2`."""

    def __init__(self, path, count):
        self.fails = False  # true: every write fails
        self._count = count
        try:
            self._file = open(path, "r+b")  # noqa: SIM115
        except OSError:
            with open(path, "wb") as file:
                for _ in range(count):
                    file.write(b"\xff" * BLOCK)
            self._file = open(path, "r+b")  # noqa: SIM115

    def readblocks(self, block, into, offset=0):
        """Fill `into` from `block`, starting at `offset`."""
        self._file.seek(block * BLOCK + offset)
        self._file.readinto(into)

    def writeblocks(self, block, data, offset=0):
        """Write `data` to `block` at `offset`. littlefs has erased the block before. -EIO if the flash fails."""
        if self.fails:
            return -EIO
        self._file.seek(block * BLOCK + offset)
        self._file.write(data)
        return 0

    def ioctl(self, what, block):
        """The operations of MicroPython's block protocol. 4: number of blocks; 5: their size; 6: erase `block`."""
        if what == 4:
            return self._count
        if what == 5:
            return BLOCK
        if what == 6:
            return self.writeblocks(block, b"\xff" * BLOCK)
        return 0


def mount(kilobytes):
    """Mount the flash of that size. Returns (folder for the store's files, block device or None)."""
    try:
        import vfs

        vfs.VfsLfs2  # noqa: B018
    except (ImportError, AttributeError):
        try:  # noqa: SIM105
            os.mkdir("flash")
        except OSError:
            pass
        return "flash/", None
    blocks = Blocks(IMAGE, kilobytes * 1024 // BLOCK)
    try:
        made = vfs.VfsLfs2(blocks, progsize=256)
    except OSError:
        vfs.VfsLfs2.mkfs(blocks, progsize=256)
        made = vfs.VfsLfs2(blocks, progsize=256)
    vfs.mount(made, "/flash")
    return "/flash/", blocks
