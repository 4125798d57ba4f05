"""The command line: serve, analyse, forecast, feed, and the care of the records.

`commands` has every command and its options; each imports what it needs when it runs. Commands
print English, results to standard output, progress to standard error. Every text of a file or an
archive goes through `app.server.terminal`, so that none controls the terminal. Exit codes: 0 done,
1 refused or damaged, 2 wrong usage.
"""
