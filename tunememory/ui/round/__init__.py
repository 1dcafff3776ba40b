"""A round on the screen."""
