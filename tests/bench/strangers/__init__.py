"""Strangers: pits that share no code and no structure with the project's own simulation, to judge the law on.

`cooks` draws a cook from a family and a seed; `pits/` are the families; `day` is the cook period by period, `build`
compiles it; `trial` runs one and says what came of it, and which cooks a fan can hold at all; `ails` makes cooks hard
or breaks them. Even seeds choose, odd seeds are reported.
"""
