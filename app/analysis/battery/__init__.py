"""What one battery says: its report, its newest test, and when the next is due."""
