"""When the steps can be done: what decides how long it takes, evening by evening, and tonight's work."""
