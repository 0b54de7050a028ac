"""What is said while the bridge is built: packing at every bearing."""
