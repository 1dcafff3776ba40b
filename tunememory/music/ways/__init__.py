"""Ways of working on a tune, each with material made for it."""
