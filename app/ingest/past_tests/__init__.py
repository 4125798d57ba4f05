"""Tables of past tests, one row a test, to the tests they hold.

`table` finds heading and rows, `headings` and `column_choice` what each column is, `days`,
`amounts` and `words` read cells, `reader` leads through all of it. `kind_of_table` tells a table of
past tests from a log of readings.

Rules: a day is never made up, and the order of day and month never guessed for one row alone. What
rows do not say is asked once for all of them (`answers`). A row is a test, or left out with its
reason, or refused with its line: none is passed over.
"""
