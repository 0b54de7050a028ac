"""The job file's tables as they may be written: keys and shapes, not yet meanings."""
