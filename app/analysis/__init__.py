"""Every computation, pure: numbers and things of the domain in, a frozen result out.

It reads no file, no clock and no database. The sub-packages import one another in one direction
only: statistics, counting, corrections, evidence, plausibility, fade, ageing, projection, battery,
and then what is asked of a battery: test_day, nights, heat, warranty, comparison, reports.

Rules for numbers: Every number that a user sees has a unit, an uncertainty and a source. A figure
of the trade stands in the code with its source beside it; without one it is marked "common
practice", and from memory it says "from memory". Tests against published figures stand in
tests/reference/ with their sources in tests/reference/SOURCES.md. No result may claim more than its
evidence carries. What depends on the chemistry stands in a table that names every one, so that no
default speaks for a new one. A change of a method raises `METHOD_VERSION` in `evidence.result`.

One owner each: `statistics.coverage` (95 %, the 90 % range, Student's factor), `fade.fade_power`
(80 % power), `evidence.promised_capacity` (from when a claim counts as shown).
"""
