"""From the conditions of a test to those of the label, by published coefficients."""
