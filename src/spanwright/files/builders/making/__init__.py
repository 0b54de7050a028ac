"""Builders of what is made: the board that is opened, settings of the parts, the printer."""
