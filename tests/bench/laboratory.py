# SPDX-License-Identifier: MIT
"""What a laboratory would write to look over its own records: a row a sample, numpy for the arithmetic.

It does much less than an audit: maximum load, strength, and the stress rate over five seconds between
half and nine tenths of the maximum load, by least squares, against the band. No spikes, stalls, gaps or
events, no digits as they were sent, no seals.

    laboratory.py DATABASE
"""
import sqlite3
import sys

import numpy as np

AREA_M2 = np.pi * 0.1**2 / 4
WINDOW_S = 5.0
BAND_MPA_S = (0.20, 0.30)


def slopes(time, load):
    """Least-squares slope over the last WINDOW_S before each sample, from running sums."""
    time = time - time[0]
    first = np.searchsorted(time, time - WINDOW_S)
    sums = [np.concatenate(([0.0], np.cumsum(x)))
            for x in (np.ones_like(time), time, load, time * time, time * load)]
    last = np.arange(1, len(time) + 1)
    n, t, y, tt, ty = (total[last] - total[first] for total in sums)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (n * ty - t * y) / (n * tt - t * t)
    return slope, time - time[0] >= WINDOW_S


def judge(time, load):
    top = int(np.argmax(load))
    maximum = load[top]
    begin = int(np.argmax(load >= 0.5 * maximum))
    end = int(np.argmax(load >= 0.9 * maximum))
    slope, whole = slopes(time[begin:end], load[begin:end])
    rate = slope[whole] * 1e3 / AREA_M2 / 1e6
    inside = np.all((rate >= BAND_MPA_S[0]) & (rate <= BAND_MPA_S[1]))
    return maximum * 1e3 / AREA_M2 / 1e6, bool(inside), float(rate.min()), float(rate.max())


def main():
    database = sqlite3.connect(f"file:{sys.argv[1]}?mode=ro", uri=True)
    for (run,) in database.execute("SELECT DISTINCT run FROM reading ORDER BY run").fetchall():
        rows = database.execute(
            "SELECT time_s, load_kn FROM reading WHERE run = ? ORDER BY time_s", (run,))
        table = np.array(rows.fetchall())
        strength, inside, low, high = judge(table[:, 0], table[:, 1])
        print(f"{run} {strength:.1f} MPa {'in' if inside else 'OUT OF'} band {low:.3f} {high:.3f}")


if __name__ == "__main__":
    main()
