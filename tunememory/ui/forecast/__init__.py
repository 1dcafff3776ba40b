"""Fading, the year ahead and how well the program guesses, on the screen."""
