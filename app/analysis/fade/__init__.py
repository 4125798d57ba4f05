"""The rate at which one battery loses capacity, and what the record could have shown."""
