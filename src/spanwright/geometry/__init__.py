"""Plane and space geometry: curves, polygons, frames, distances. No railway words in here."""
