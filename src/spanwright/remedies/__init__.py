"""What would make a gap clear: each thing that may move, tried by the whole engine on an edited job file."""
