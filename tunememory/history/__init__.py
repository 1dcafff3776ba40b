"""What was asked and played, put on disk with the beliefs in step, and read again."""
