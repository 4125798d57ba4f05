"""One module a thing: domain objects in, domain objects out.

Every edit goes through `revisions`, which keeps the whole row as it was and counts the version up;
an edit that changes nothing keeps nothing. `soft_delete` is the bin. `purge` follows the foreign
keys. `change_stamps` tells whether anything behind a report changed, and `computed` holds what
was made of it, which is no record. A photo has no version: a new caption keeps the row that it
replaces without its bytes.
"""
