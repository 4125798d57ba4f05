"""Whether the evidence carries a warranty claim, and what the battery was worth so far."""
