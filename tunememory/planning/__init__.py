"""What to ask and to practise today. Pure, no input or output."""
