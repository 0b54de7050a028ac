"""Doubt by draws, where derivatives alone would not do: coverage, how many draws, joint risks."""
