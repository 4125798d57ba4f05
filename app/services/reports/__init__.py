"""Use cases that compute an answer from stored records and store nothing."""
