"""Room beside what is worked at."""
