"""Forecasts: the question, the worker process, what is shown."""
