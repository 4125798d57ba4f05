"""Straight lines, shared errors and the budget of a result."""
