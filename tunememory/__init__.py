"""Keeps a player's traditional tunes callable by name, key and first notes."""

__version__ = "0.1.0"
