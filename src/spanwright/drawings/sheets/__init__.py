"""What is drawn: one module a kind of sheet."""
