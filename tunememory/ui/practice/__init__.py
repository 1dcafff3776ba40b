"""Practice on the screen."""
