"""The tables, and what every column means and may hold.

`tables` and `place_tables` are the tables. `table_docs` and the `*_columns` modules are the one
owner of what a column means: the check of a data file, the records and a restore all read them. A
column without its description stops the program at import. `packing` and `parts_as_json` turn
readings and parts of a thing into bytes and text. `computed_table` is no record and stands apart.
"""
