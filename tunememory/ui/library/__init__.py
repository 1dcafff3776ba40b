"""Tunes and sets on the screen."""
