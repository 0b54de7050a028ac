"""How a sheet is laid on pages: cut at edges, whole on one, or over a grid of tiles."""
