"""A file of a million rows from upload to result, beside the fastest general CSV reader here.

Run by hand: python -m tests.benchmarks.bench_ingest [rows]
The general reader only parses numbers into columns; numpy.loadtxt is used, and pyarrow where it is
installed (it is no dependency).
"""

import importlib.util
import io
import math
import resource
import sys
import time

import numpy as np

from app.analysis.result import analyse
from app.ingest.reader import read_file


def make(rows: int) -> bytes:
    text = io.StringIO()
    text.write("time_s,voltage_v,current_a,temperature_c\n")
    for i in range(rows):
        volts = 13.2 - 1.2 * i / rows
        text.write(f"{i},{volts:.3f},{-9 - 0.05 * math.sin(i / 50):.3f},{24 + i % 7 / 10:.1f}\n")
    return text.getvalue().encode()


def general_reader(data: bytes) -> tuple[str, float]:
    began = time.perf_counter()
    if importlib.util.find_spec("pyarrow") is not None:
        from pyarrow import csv

        csv.read_csv(io.BytesIO(data))
        return "pyarrow", time.perf_counter() - began
    np.loadtxt(io.BytesIO(data), delimiter=",", skiprows=1)
    return "numpy.loadtxt", time.perf_counter() - began


def main(rows: int) -> None:
    data = make(rows)
    began = time.perf_counter()
    imported = read_file(data)
    read_s = time.perf_counter() - began
    began = time.perf_counter()
    analyse(imported.readings, rated_ah=3000)
    result_s = time.perf_counter() - began
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    name, other_s = general_reader(data)
    print(f"{rows} rows, {len(data) / 1e6:.0f} MB; peak so far {peak_mb:.0f} MB, file included")
    print(f"  read                {read_s:6.2f} s")
    print(f"  result              {result_s:6.2f} s")
    print(f"  {name:18}  {other_s:6.2f} s; read is {read_s / other_s:.1f} times as long")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
