"""What is told of trains beyond the verdicts: why a gap is small, what would mend it, the wall card."""
