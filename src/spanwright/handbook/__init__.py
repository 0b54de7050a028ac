"""Published tables as data files, one citation a table, and generic vehicles."""
