"""Tables of past tests as their owner sees them: what columns are, what is asked and answered."""
