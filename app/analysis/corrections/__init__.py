"""From the conditions of a test to those of the label, by published coefficients.

`coefficients` reads app/data/coefficients.json, where each figure has its source, its doubt and its
range. Outside that range, and where the file says null, nothing is corrected and the result says
so. A lower bound is never raised by a correction.
"""
