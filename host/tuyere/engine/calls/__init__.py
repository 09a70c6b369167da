"""Who is woken when the night needs a person: routes, the life of a call, the test before bed, the heartbeat."""
