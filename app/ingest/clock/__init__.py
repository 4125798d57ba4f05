"""Times of a whole record: what a clock did to them, and what can be mended."""
