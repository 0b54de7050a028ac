"""The work as a plan, as text: when each step can be done, and what tonight is for."""
