"""Base inputs, derivatives, least squares, reliability, budgets. No railway words in here."""
