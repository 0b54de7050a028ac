"""The next measurement as text: of each gap, and of any number that is asked for."""
