#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What a list, one run and a start of the daemon take with 1 000 runs, with 100 000 and, where
RAMPLOG_MILLION is set, with 1 000 000 (3 GB, some minutes): medians, in milliseconds as it went, the
start of the program in them. FILL, RAMPLOG and RAMPLOGD name the programs."""
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

REPETITIONS = 9
LIST_MOST_MS, START_MOST_MS = 50, 100  # the aims, beyond what the program takes by itself

QUESTIONS = [
    ("the program alone", ["--version"]),
    ("runs --limit 20", ["runs", "--limit", "20"]),
    ("runs --press", ["runs", "--limit", "20", "--press", "press-1"]),
    ("runs --set", ["runs", "--limit", "20", "--set", "set-7"]),
    ("runs --specimen", ["runs", "--limit", "20", "--specimen", "S-77"]),
    ("runs --verdict", ["runs", "--limit", "20", "--verdict", "out_of_band"]),
    ("runs --sort strength", ["runs", "--limit", "20", "--sort", "strength"]),
    ("runs --from", ["runs", "--limit", "20", "--from", "2020-10-01"]),
    ("show 777", ["show", "777"]),
    ("due", ["due"]),
]


def took_ms(command, environment):
    start = time.monotonic()
    done = subprocess.run(command, env=environment, capture_output=True, check=False)
    took = (time.monotonic() - start) * 1e3
    if done.returncode not in (0, 1):
        sys.exit(f"{command}: {done.stderr.decode()}")
    return took


def start_ms(folder, database):
    """From the start of the daemon to the line that says that it listens."""
    config = os.path.join(folder, "config")
    with open(config, "w", encoding="ascii") as file:
        file.write(
            f"[ramplogd]\ndatabase = {database}\nsocket = {folder}/socket\n"
            f"[press press-1]\ncapacity = 2000 kN\n"
            f"[cell cell-1]\npress = press-1\ndevice = {folder}/no-such-port\n"
        )
    start = time.monotonic()
    daemon = subprocess.Popen(
        [os.environ["RAMPLOGD"], "--config", config], stderr=subprocess.PIPE, text=True
    )
    said = ""
    for line in daemon.stderr:
        said += line
        if "listens on" in line:
            break
    took = (time.monotonic() - start) * 1e3
    daemon.terminate()
    daemon.communicate()
    if "listens on" not in said:
        sys.exit(f"ramplogd: {said}")
    return took


def measure(runs):
    folder = tempfile.mkdtemp(prefix="ramplog-runs-")
    database = os.path.join(folder, "runs.db")
    try:
        subprocess.run([os.environ["FILL"], database, str(runs)], check=True)
        environment = dict(os.environ, RAMPLOG_DATABASE=database)
        environment.pop("MALLOC_PERTURB_", None)
        figures = {}
        for name, words in QUESTIONS:
            command = [os.environ["RAMPLOG"], *words]
            took = [took_ms(command, environment) for _ in range(REPETITIONS)]
            figures[name] = statistics.median(took)
        took = [start_ms(folder, database) for _ in range(REPETITIONS)]
        figures["daemon: start to listening"] = statistics.median(took)
        return figures
    finally:
        shutil.rmtree(folder)


def main():
    os.environ.pop("MALLOC_PERTURB_", None)
    counts = [1000, 100000] + ([1000000] if os.environ.get("RAMPLOG_MILLION") else [])
    all_figures = [measure(runs) for runs in counts]
    print(f"{'ms':28}" + "".join(f"{runs:>12}" for runs in counts))
    for name in all_figures[0]:
        print(f"{name:28}" + "".join(f"{figures[name]:12.1f}" for figures in all_figures))
    for figures in all_figures:
        alone = figures["the program alone"]
        for name, value in figures.items():
            most = START_MOST_MS if name.startswith("daemon") else LIST_MOST_MS + alone
            if name != "due" and value > most:
                print(f"{name}: above the aim of {most:.0f} ms")


main()
