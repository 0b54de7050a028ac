"""The build book: what the builder takes to the layout, composed from a plan."""
