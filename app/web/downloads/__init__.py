"""Files out and in: a battery to send, received files, records, backups, tables as CSV and JSON.

A table for spreadsheets is written by `rendering.spreadsheet`, which lets no cell begin a formula.
`battery_file` renders the page of a file to send; its `DETAILS` keep their order within a format.

What takes room there, measured with 40 tests of 24 readings (274 kB in all): of each test its steps
and uncertainties 2.0 kB, its facts 1.3 kB, its readings 1.1 kB and its picture 0.5 kB; the data 22
kB, the styles that the page uses (`rendering.used_styles`) 14 kB, the trend 9 kB.
"""
