"""General arrangement: plan, elevation, profile and height build-ups."""
