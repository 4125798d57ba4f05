"""The invented scenario. Nothing in it is real.

The example beside somebody's own records is a second application with a store of its own in a
temporary folder (app/web/pages/example.py). Two stores that know nothing of each other keep the
example out of records, backups and exports; a mark on each row would have to be remembered by every
query.
"""
