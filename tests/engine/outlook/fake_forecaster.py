"""A worker that forecasts by no physics at all: the first argument says how it behaves."""

import json
import sys

HOUR = 3_600_000
manner = sys.argv[1]

for count, line in enumerate(sys.stdin):
    known = json.loads(line)
    if manner == "dies" or (manner == "dies second" and count == 1):
        sys.exit("Killed: the wind took it")
    if manner == "garbage":
        print("no JSON", flush=True)
        continue
    if manner == "silent":
        continue
    now = known["now"] if manner != "lost" else 0
    pieces = [
        {
            "id": piece["id"],
            "finish": {"early": now + 5 * HOUR, "likely": now + 6 * HOUR, "late": now + 8 * HOUR},
            "hold_until": now + 3 * HOUR if piece["place"] == "box" else 0,
            "words": [f"{len(known['columns']['at'])} minutes seen, {len(piece['notes'])} notes."],
            "at": [now, now + HOUR],
            "low": [60.0, 61.0],
            "mid": [60.0, 63.0],
            "high": [60.0, 65.0],
        }
        for piece in known["pieces"]
    ]
    fuel = {"early": now + 9 * HOUR, "likely": now + 10 * HOUR, "late": now + 12 * HOUR}
    answer = {"now": now, "pieces": pieces, "fuel_left": 3.5, "fuel": fuel, "fuel_words": "Enough.", "members": 1}
    print(json.dumps(answer), flush=True)
