"""The JSON interface: reports to read, the feed of a running test, and the health of the server."""
