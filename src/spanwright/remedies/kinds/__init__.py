"""What may move, by what it belongs to: the bridge, a portal, the lines."""
