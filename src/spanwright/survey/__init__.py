"""Stage 1: readings as a builder takes them, adjusted together; suspects named, nothing removed."""
