"""Readings of the plan's own numbers: what is measured when a part stands, and what that teaches."""
