"""Batteries beside one another, or one before and after a move.

`comparison` gives the difference of two rates with its interval; `comparison_power` says how many
more tests would show it; `comparison_report` joins the sides, the words and the caveats.
`comparison_axis` is what trends are laid over one another on: a label, a unit and a mapping of a
battery from a day to a place. `overlaid_curves` picks the discharge curves.

The comparison says which fades faster and how sure that is, never why. Two residuals' worth of
trust in stated uncertainties holds for both sides together; from five tests on the scatter is
judged by a line that may curve (both chosen by tests.benchmarks.bench_comparison).
"""
