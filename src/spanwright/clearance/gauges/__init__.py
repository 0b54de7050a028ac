"""Clearance gauges laid along a line, beside the vehicles' own gaps and never added to them."""
