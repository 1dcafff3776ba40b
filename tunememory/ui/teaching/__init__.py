"""Pupils and the card on the screen."""
