"""Widgets of our own, shared by the screens."""
