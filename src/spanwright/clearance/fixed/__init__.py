"""Parts of the bridge against things that do not move: ties, ballast, risers, wires, switch machines."""
