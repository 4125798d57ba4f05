"""The months, as they are written out and in short."""

from app.domain.noted import noted

LONG_MONTHS = (
    noted("January"),
    noted("February"),
    noted("March"),
    noted("April"),
    noted("May"),
    noted("June"),
    noted("July"),
    noted("August"),
    noted("September"),
    noted("October"),
    noted("November"),
    noted("December"),
)
SHORT_MONTHS = (
    noted("Jan"),
    noted("Feb"),
    noted("Mar"),
    noted("Apr"),
    noted("May"),
    noted("Jun"),
    noted("Jul"),
    noted("Aug"),
    noted("Sep"),
    noted("Oct"),
    noted("Nov"),
    noted("Dec"),
)
