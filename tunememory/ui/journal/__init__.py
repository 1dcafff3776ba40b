"""The journal on the screen."""
