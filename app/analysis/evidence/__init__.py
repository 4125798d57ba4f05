"""What a test can prove, how sure that is, and how it stands against the label.

`evidence` says measured, at least or unusable; `gauge` finds out a gauge that only counts;
`uncertainty` writes the budget; `result` joins them all for one test; `verdict` compares with the
label; `promised_capacity` compares with any promised level: the owner's threshold and the terms of
a warranty are both a `Level` for `hold_against`.

Decisions: A lower bound is count minus expanded uncertainty everywhere. Where a bound contradicts
measured tests, it is named and not believed. A promise is judged by one test, not by the line.
"""
