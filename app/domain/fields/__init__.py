"""What a field of a thing says of itself, and fields that several things share.

`described_field` has `Described`, which is written into a type, and reads it back. The fields of a
battery are two files: what others may see, and what stays private. A new field is private unless it
says `sent=True`.
"""
