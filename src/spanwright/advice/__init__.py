"""What to measure next: which reading, how well, and how likely it is that a word then follows."""
