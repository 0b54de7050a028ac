"""Parts of a vehicle's table: its cross-section, what the handbook gives, its sizes; and gauges."""
