"""Whole random jobs whose truth is known: lines, readings, sizes, work and trains, for simulation."""
