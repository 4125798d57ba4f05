"""Units, columns of readings, and rounding.

`unit` is the one table of units, for form fields and for cells of files. A unit of the right kind
is converted; one of another kind is refused by name; what could be two numbers is refused with
both. `rounding` rounds a lower bound down, never up.
"""
