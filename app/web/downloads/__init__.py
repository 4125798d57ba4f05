"""Files out and in: a battery to send, received files, records, backups, tables as CSV and JSON.

A table for spreadsheets is written by `rendering.spreadsheet`, which lets no cell begin a formula.
`battery_file` renders the page of a file to send; its `DETAILS` keep their order for good.
"""
