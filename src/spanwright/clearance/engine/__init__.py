"""The search itself: how a part moves past a body, and branch and bound over all poses."""
