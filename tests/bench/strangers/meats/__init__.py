"""Strangers of meat: probe curves that share no code and no structure with the project's own meat, to judge the
forecast on.

Three generators of their own: `section` (two dimensions, a drying front that recedes, a fat cap), `brick` (three
dimensions, one characteristic drying curve, radiation apart) and `chain` (no geometry: a skin with a store of water and
a chain of lags). `nights` draws a whole night: pit, piece, probe, wraps, and what the cook tells of them. `judged`
asks the forecast and its rivals. Even seeds choose, odd seeds are reported.
"""
