"""Pupils, lessons and the card for the case."""
