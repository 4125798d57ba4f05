"""Every computation, pure: numbers and things of the domain in, a frozen result out.

The rooms import one another in one direction only: statistics, counting, corrections, evidence,
plausibility, fade, ageing, projection, battery, and then what is asked of a battery.
"""
