"""Stage 3: spans, piers, bents and abutments fitted to the lines, and the shape of every finished part."""
