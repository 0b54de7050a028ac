"""The command line: parse, hand over to the job, show. No arithmetic."""
