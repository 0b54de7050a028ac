"""Stage 5: what is bought, cut, trimmed and made, and every thing to hold against the work."""
