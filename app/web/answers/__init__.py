"""What the JSON interface promises, field by field.

An answer names every field that it gives; a field that is not named is not sent. The lists in
tests/frozen hold the names that programs of others rely on.
"""
