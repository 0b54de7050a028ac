"""Two plans from the same readings, side by side."""
