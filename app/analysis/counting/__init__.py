"""What a test delivered, and what nobody saw between its readings and after the last."""
