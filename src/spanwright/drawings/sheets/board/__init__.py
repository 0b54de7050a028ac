"""Tables that go with the cut pattern of the board."""
