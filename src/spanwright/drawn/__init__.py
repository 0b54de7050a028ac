"""Whole plans derived again with drawn inputs: where derivatives alone mislead, and what to do about it."""
