"""Whether the heat is to blame for a loss."""
