"""Documents of single commands for other programs, by their published schemas."""
