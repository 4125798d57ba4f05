"""The things of the subject as their owner describes them, and the rules of their values.

It imports the standard library alone. `quantity` holds the range of every number that a user may
give; forms, files and the command line use the same one. `units.unit` is the only table of units.
`errors` is the one tree of everything that can go wrong. `glossary` explains each term once: a
sentence, its source, and the part of the method that says more. `finding` is what an analysis has
to say in words.

A capacity test is a `Discharge` in code, because pytest collects what is called test. A test that
is still going on is a `Run`. Names carry their unit (`capacity_ah`, `elapsed_s`); shares are
fractions, and a percentage says so in its name.

What several modules count with has one owner here: `units.time_units`, `units.rounding` (a bound is
never rounded up), `local_clock` (which day it is here), `limits` (how long texts may be), `tokens`
(the hash of a random word).
"""
