"""Pieces of screens."""
