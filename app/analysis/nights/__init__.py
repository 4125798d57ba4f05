"""Nights without charging: now, in the cold, on a day, with a second battery, and until when."""
