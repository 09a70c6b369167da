"""Five families of pits. None shares code or structure with the project's own simulation, nor with each other.

Each file has: `step`, one second of the pit, plain numbers in flat sequences, so that it compiles; `draw`, one cooker
of the family; `light`, its state when lit; `stored`, the heat in it; `scale_fan`, another fan on the same cooker;
`DEAD`, where its fan's dead zone stands in c. The fire makes at most 3.0 MJ a kg of air (0.332 g/s a kW, from the
elements of charcoal and its heating value by Channiwala and Parikh, 2002). All other spreads are common practice and
plain geometry, no source.
"""
