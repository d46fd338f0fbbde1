"""How long general libraries take to read the log of `cargo bench --bench log`, and to average its window.

    pip install pandas==3.1.1 polars==2.1.0
    python benches/log_readers.py target/log-bench.csv
"""

import sys
import time

import pandas
import polars


def best(what, read):
    times = []
    for _ in range(7):
        start = time.perf_counter()
        read()
        times.append(time.perf_counter() - start)
    print(f"{what}: {min(times):.3f} s at best, {sorted(times)[3]:.3f} s in the middle")


def with_pandas():
    frame = pandas.read_csv(sys.argv[1])
    return frame[frame["RPM"].between(2350, 2450)].mean()


def with_polars():
    frame = polars.read_csv(sys.argv[1])
    return frame.filter(polars.col("RPM").is_between(2350, 2450)).mean()


best("pandas", with_pandas)
best("polars, all threads", with_polars)
