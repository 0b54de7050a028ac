"""What each kind of part takes: pieces of spans, of supports, and what is held against the work."""
