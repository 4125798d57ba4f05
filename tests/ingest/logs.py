"""A small log and how it is read."""

from app.ingest.reader import read_file

PLAIN = "time_s,current_a,voltage_v\n0,9.0,13.2\n3600,9.1,13.0\n7200,9.0,12.0\n"


def read(text, encoding="utf-8", uses=None):
    return read_file(text.encode(encoding), uses)


def currents(imported):
    return list(imported.readings.current_a)
