"""What a page, a link, a file to send and a sheet of paper show of a test, computed once."""
