"""Stands before the real numba on PYTHONPATH, in every process of a run: there is none, as on machines without a wheel.

PYTHONPATH=tests/without_numba pytest tests/forecast/test_plain.py
"""

raise ModuleNotFoundError("No module named 'numba' (this run has none)", name="numba")
