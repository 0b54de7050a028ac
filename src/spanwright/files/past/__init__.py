"""What the history of a job file may not undo."""
