"""How well each strand of a tune is remembered: belief, forgetting, update."""
