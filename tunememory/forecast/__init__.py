"""The year ahead, how well the program guesses, and learning from the player's checks."""
