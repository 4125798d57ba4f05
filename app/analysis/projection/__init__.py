"""The end of life as a distribution, by how published cells aged."""
