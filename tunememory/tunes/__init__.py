"""What a tune is: its titles, key, tuning and starts. Pure, no input or output."""
