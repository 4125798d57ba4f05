"""The tables as plain rows, for archives and their way back.

`tables_as_rows` makes the description of every table from `schema`; `archive_import` adds new rows
and leaves what is there; `id_map` leads references to the numbers of this store; `binary_columns`
turns stored bytes into files.
"""
