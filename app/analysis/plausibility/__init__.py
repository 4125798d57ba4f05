"""What can hardly be, asked before a result is believed."""
