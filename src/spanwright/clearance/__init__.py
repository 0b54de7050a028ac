"""Stage 4: vehicles swept along the lines against the finished shapes; gaps, verdicts, what matters most."""
