"""Packing and shims at each bearing from the builder's own shelf, and the railhead that comes of them."""
