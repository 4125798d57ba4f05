"""Time at temperature, and what published models say that it takes."""
