"""Stage 6: a display list in mm, true to size, and thin writers for PDF, SVG and DXF."""
