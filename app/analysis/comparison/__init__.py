"""Batteries beside one another, or one before and after a move."""
