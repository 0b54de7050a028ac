"""Stage 2: where the lines really are, with an honest doubt; where they cross and how far apart.

Signs: station grows along the line as the marks are listed, left is positive, z is up, cant is the
right rail above the left, a left turn is positive curvature.
"""
