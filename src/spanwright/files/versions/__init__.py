"""Earlier texts of a job file, and two jobs side by side: what outlives a step back, what is told of both."""
