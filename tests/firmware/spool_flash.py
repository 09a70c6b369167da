"""The store on littlefs, run by a real MicroPython: whole nights with their wear, and the power cut at every operation.

Each function prints one line of JSON; `test_spool_flash.py` runs them and judges.
"""

import json
import os

import vfs
from hearth.core import Memory, Settings
from hearth.store import kept, segments, spool
from hearth.store.block import Block, Expansion
from spool_kit import BLOCK, CORE, Boot, Cut, Flash, Night, Sums

ROOT = "/flash"
PICO = 352  # blocks of 4 KB: the 1,408 KB that MicroPython leaves of a Pico's 2 MB
LIMIT = 1200 * 1024
SMALL = 7 * BLOCK


def mount(flash):
    """As the board's own start does it."""
    vfs.mount(vfs.VfsLfs2(flash, progsize=256), ROOT)


def made(blocks):
    """The image of a new file system."""
    flash = Flash(bytearray(b"\xff" * (blocks * BLOCK)))
    vfs.VfsLfs2.mkfs(flash, progsize=256)
    return flash.data


def files():
    """(bytes, blocks of flash) in the spool's files."""
    sizes = [os.stat(ROOT + "/spool/" + name)[6] for name in os.listdir(ROOT + "/spool")]
    return sum(sizes), sum([-(-size // BLOCK) for size in sizes])


def day(cycles=43200):
    """Everything fitted and noisy, no host at all, a checkpoint every 10 min; then all of it read back."""
    flash = Flash(made(PICO))
    mount(flash)
    night = Night(spool.Spool(ROOT + "/spool", LIMIT, CORE), records=Sums(cycles + 100))
    checkpoint = 0
    for i in range(cycles):
        night.step()
        if i == cycles // 2:
            night.change()
        if i % 300 == 299:
            before = sum(flash.erases)
            kept.save(ROOT + "/checkpoint", kept.pack_checkpoint(CORE, night.number, night.at, night.memory))
            checkpoint += sum(flash.erases) - before
    size, blocks = files()
    night.spool.write()
    vfs.umount(ROOT)
    mount(flash)
    again = spool.Spool(ROOT + "/spool", LIMIT, CORE)
    right = 0
    for record in again.read(night.number, 0):
        right += night.records.same(right, record)
    vfs.umount(ROOT)
    print(
        json.dumps(
            {
                "records": len(night.records),
                "runs": again.runs(),
                "right": right,
                "bytes": size,
                "blocks": blocks,
                "written": night.spool.bytes_written,
                "lost": night.spool.lost + again.lost,
                "fine": not (night.spool.broken or night.spool.full or again.broken),
                "erases": sum(flash.erases),
                "checkpoint_erases": checkpoint,
                "most": max(flash.erases),
            }
        )
    )


def wear(nights):
    """So many nights with no host until the morning, all kept then, beside a firmware of 120 KB."""
    flash = Flash(made(PICO))
    mount(flash)
    with open(ROOT + "/firmware", "wb") as file:
        for _ in range(30):
            file.write(bytes(BLOCK))
    vfs.umount(ROOT)
    part, memory, settings = Block(CORE), Memory(), Settings()
    appended = 0
    for night in range(nights):
        mount(flash)
        files = segments.Segments(ROOT + "/spool", Expansion(CORE))
        for i in range(144):  # a checkpoint each 10 min, and as many blocks as `day` needs, or a few more
            part.open(night, i, 0, 0, memory, settings)
            part.next += 1
            part.close()
            before = sum(flash.erases)
            files.append(part)
            appended += sum(flash.erases) - before
            kept.save(ROOT + "/checkpoint", kept.pack_checkpoint(CORE, night, i, memory))
        for segment in list(files.all):
            files.delete(segment)
        vfs.umount(ROOT)
    print(json.dumps({"erases": sum(flash.erases), "most": max(flash.erases), "appended": appended}))


def trouble():
    """A flash that is full, one that cannot be written for a while, one that cannot be read."""
    found = {}
    flash = Flash(made(24))
    mount(flash)
    boot = Boot(spool.Spool(ROOT + "/spool", LIMIT, CORE))
    boot.fill(60)
    first = boot.spool.runs()[0][1]
    found["full"] = (
        boot.spool.full,
        boot.spool.broken,
        boot.spool.dropped == first > 0,
        boot.spool.lost[-1][2] == first,
    )
    found["full_read"] = list(boot.spool.read(7, 0)) == boot.records[first:]

    boot.spool.kept(7, len(boot.records) - 1)
    tidy(boot.spool)
    before = len(boot.records)
    flash.error = -5
    boot.fill(2)
    gone = boot.spool.dropped - first
    found["sick"] = (boot.spool.broken, gone == len(boot.records) - before, [run[3] for run in boot.spool.lost])
    before = len(boot.records)
    flash.error = 0
    boot.fill(2)
    found["well"] = (boot.spool.broken, list(boot.spool.read(7, 0)) == boot.records[before:])
    vfs.umount(ROOT)

    boot = Boot(spool.Spool("/nowhere/spool", LIMIT, CORE))
    boot.fill(2)
    found["nowhere"] = (boot.spool.broken, boot.spool.dropped == len(boot.records), len(boot.spool.runs()))
    print(json.dumps(found))


def tidy(spool):
    """Delete what the host has, as the loop does over some cycles."""
    while spool.tidy():
        pass


def script(boot):
    """Two segments and more, the limit reached, a part kept by the host, settings and checkpoint saved."""
    for i in range(11):
        boot.fill()
        if i == 4:
            boot.change()
        if i % 3 == 1:
            boot.tried = kept.pack_settings(boot.settings, i)
            assert kept.save(ROOT + "/settings", boot.tried)
            boot.saved = boot.tried
        if i == 8:
            boot.host = boot.flashed - 5
            boot.spool.kept(boot.number, boot.host - 1)
            tidy(boot.spool)


def start(flash, left, half):
    """Run the script until it ends or the power is cut; what the board knew, and whether it was cut."""
    mount(flash)
    flash.left, flash.half = left, half
    boot = None
    try:
        boot = Boot(spool.Spool(ROOT + "/spool", SMALL, CORE))
        boot.saved = boot.tried = None
        boot.host = 0
        script(boot)
        return boot, False
    except Cut:
        return boot, True


def verify(flash, boot):
    """After the power came back: "" or what is not as it must be."""
    mount(flash)
    again = spool.Spool(ROOT + "/spool", SMALL, CORE)
    if again.broken:
        return "the spool is broken"
    if boot:
        if kept.load(ROOT + "/settings") not in (boot.saved, boot.tried):
            return "the settings are neither the old ones nor the new ones"
        at = max(boot.host, boot.spool.runs()[0][1])  # what it had not given up, nor the host kept
        for record in again.read(boot.number, at):
            if record != b"":
                if record != boot.records[at]:
                    return f"record {at} is another"
                at += 1
        if at < boot.flashed:
            return f"only {at} of {boot.flashed} records are left"
        if again.lost:
            return f"lost: {again.lost}"
    new = Boot(again, 8)  # and the next boot goes on
    new.fill()
    if list(again.read(8, 0)) != new.records:
        return "the next boot's records are others"
    again.kept(7, 100000)
    tidy(again)
    if [run[0] for run in again.runs()] != [8]:
        return "what the host has is still there"
    return "it is broken now" if again.broken else ""


def cuts(half):
    """Cut the power at every program and erase of the script."""
    segments.BLOCKS = 3  # small ones, so that some fill up and go
    spool.SOON = 3000  # few cycles in a block
    clean = made(24)
    wrong = []
    left = 1 if half else 0
    while True:
        flash = Flash(bytearray(clean))
        boot, cut = start(flash, left, half)
        vfs.umount(ROOT)
        if not cut:
            break
        problem = verify(Flash(flash.data), boot)  # the old one stays dead, whoever still has files open on it
        vfs.umount(ROOT)
        if problem:
            wrong.append((left, problem))
        left += 1
    print(json.dumps({"cuts": left, "wrong": wrong[:5], "dropped": boot.spool.dropped}))
