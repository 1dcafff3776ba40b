"""Today, the first screen."""
