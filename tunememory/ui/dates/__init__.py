"""Dates and tonight on the screen."""
