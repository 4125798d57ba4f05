"""The rate at which one battery loses capacity, and what the record could have shown.

`fade_line` fits the line with measured tests, shared gains, scatter and lower bounds; `fade` makes
the rate with its interval; `fade_power` says which fade the tests could have shown at all;
`outliers` finds odd tests; `contradiction` finds tests that cannot all be right; `change_point`
finds a changed rate.

Decisions: The gain error of a meter is common to all tests with that meter; its offset is not,
because a meter is zeroed before a test. The stated uncertainties count as much as two residuals
would (`PRIOR_TESTS`, chosen by tests.benchmarks.bench_fade).
"""
