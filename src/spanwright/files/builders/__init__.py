"""From checked tables to the frozen input of each stage, one module a part of the job file."""
