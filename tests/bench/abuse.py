"""An hour of abuse at random: a twin, an engine, and everything that can happen to them and to the logbook between.

    python tests/bench/abuse.py [--seed 1] [--minutes 60] [--smoke] [--keep FOLDER]

The twin runs at 60 times real speed behind a socket. What lies between damages 1 % of its lines and calls it a real
board; the engine's clocks run 60 times as fast, so that for the engine all of it is a real night. The campaign draws
from its seed: kill, stop and continue the engine, step its clock, fill its disk and empty it, damage a page of its
logbook, move the file away and back, flood its port, and crowd its door. After each it notes something, and the engine
must answer. At the end:

- the chain of each logbook holds, but for what was damaged here, and says where;
- every cycle that is there replays bit for bit, and no record is in two files with different bytes;
- the newest cycle is dated by the clock as it was set last;
- every missing record is named by a reader, and every note that was accepted is there, or its file was damaged.

Linux: it limits the size of the engine's files as a full disk does.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import shutil
import sys
import tempfile
import time
from pathlib import Path


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--smoke", action="store_true", help="every abuse about once, in under a minute")
    parser.add_argument("--keep", type=Path, help="leave all files in this folder")
    options = parser.parse_args()
    if sys.platform != "linux":
        print("abuse: needs Linux")
        return
    from abused.campaign import Campaign  # it imports what only Unix has
    from abused.judge import judge

    folder = options.keep or Path(tempfile.mkdtemp(prefix="tuyere-abuse-"))
    folder.mkdir(parents=True, exist_ok=True)
    campaign = Campaign(folder, options.seed)
    try:
        seconds, least = (15.0, 9) if options.smoke else (options.minutes * 60, 1)
        asyncio.run(campaign.run(seconds, least))
        wrong = judge(campaign)
    except BaseException:
        options.keep = folder  # what the engine wrote is the only trace of what went wrong
        print(f"after {time.time() - campaign.began:,.0f} s; all files are in {folder}", file=sys.stderr)
        raise
    finally:
        for process in (campaign.engine, campaign.twin):
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
        if not options.keep:
            shutil.rmtree(folder, ignore_errors=True)
    print(f"seed {options.seed}: {time.time() - campaign.began:,.0f} s, most memory {campaign.most_kb / 1000:,.0f} MB,")
    print(f"  {campaign.between.damaged:,} lines damaged, {campaign.between.flooded / 1e6:,.0f} MB of noise")
    for name, count in sorted(campaign.counts.items()):
        print(f"  {name}: {count:,}")
    for words in wrong:
        print(f"WRONG: {words}")
    print("all holds" if not wrong else f"{len(wrong)} things do not hold")
    os._exit(bool(wrong))  # threads of the socket between may hang in a read


if __name__ == "__main__":
    main()
