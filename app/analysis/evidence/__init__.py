"""What a test can prove, how sure that is, and how it stands against the label."""
