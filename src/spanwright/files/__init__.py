"""The only code that opens a path: job file, templates, reading sheets, published output schema."""
