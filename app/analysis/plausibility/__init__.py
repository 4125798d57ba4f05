"""Questions about unlikely values, asked before a result is believed.

`plausibility` looks at a whole test and says what each other reading of it would give;
`raw_readings` gives it the readings before any rule bridges one; `run_questions` asks about single
readings of a running test; `plausible_moment` asks about dates; `witnesses` are other columns that
bear the current out or contradict it: a counter, a gauge, or watts, which a file brings along and
nothing stores.

An answer of the owner is kept: with a test under the English sentence that it answers, with a
running test at the reading. So a changed sentence asks again.
"""
