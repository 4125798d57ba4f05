"""The engine, transactions, and what differs between the two databases.

A data file runs in WAL mode with synchronous=FULL. Writes begin with BEGIN IMMEDIATE, reads with a
plain BEGIN. On PostgreSQL a writing transaction holds one advisory lock to its end, so every check
of a use case still holds when it stores. `engine`, `postgresql` and `collation` alone know which
database it is.

`file_guard` looks before each transaction and before its commit whether the file is still the one
that is open: a removed file can still be written to, and what is stored then is lost.
`migrations` runs at every start, after a checked backup, in one transaction, with foreign keys off
on that connection alone (a rebuilt table would cascade) and checked before the commit.
"""
