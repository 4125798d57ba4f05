"""Straight lines, shared errors and the budget of a result.

`gls` fits a line to points whose errors are shared; `censored` lets lower bounds take part in it;
`budget` adds the lines of an uncertainty budget (GUM, JCGM 100); `coverage` has the quantiles for
the whole program.
"""
