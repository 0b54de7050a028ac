"""What the opening of the board is made of: its outline, and what ties it to the rails."""
