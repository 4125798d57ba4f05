"""Planning a capacity test, and carrying it through while it runs."""
