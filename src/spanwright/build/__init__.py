"""Stage 7: the steps that follow from the structure, and blank sheets for what is measured as built."""
