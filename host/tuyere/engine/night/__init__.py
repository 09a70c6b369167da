"""The cook that runs: its pieces, notes, events, alarms."""
