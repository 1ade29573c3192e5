#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""What `ramplog due --ical` writes, read by a library that was not written for it, must be what
`ramplog due --json` says, with every name as it was typed.

Usage: check_calendar.py RAMPLOG MAKE-LABORATORY
"""
import datetime
import json
import os
import subprocess
import sys
import tempfile

import icalendar

SPECIMENS = {
    "plain-1": ("2026-11-01T09:00+01:00", "28d", "pier"),
    "comma, semicolon; \\ and \"quotes\"": ("2026-11-02T06:00Z", "24h", "a; b, c"),
    "ä" * 23: ("2026-11-03T23:30-05:00", "56d", "a set with a name as long as names may be, 47 b"),
    "強度-1": ("2026-11-04T00:00Z", "7d", ""),
}


def run(program, database, *arguments):
    environment = dict(os.environ, RAMPLOG_DATABASE=database, RAMPLOG_SOCKET="/nowhere")
    done = subprocess.run([program, *arguments], env=environment, capture_output=True, check=True)
    return done.stdout


def parsed(text):
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))


def main(ramplog, make_laboratory):
    with tempfile.TemporaryDirectory() as folder:
        database = os.path.join(folder, "runs.db")
        subprocess.run([make_laboratory, database], check=True)
        for name, (cast, age, group) in SPECIMENS.items():
            run(ramplog, database, "register", "--diameter-mm", "100", "--cast", cast, "--age", age,
                *(["--set", group] if group else []), "--", name)
        at = "2026-11-05T00:00Z"
        due = json.loads(run(ramplog, database, "due", "--all", "--json", "--at", at))
        calendar = icalendar.Calendar.from_ical(run(ramplog, database, "due", "--ical", "--at", at))
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"], calendar
    events = {str(e["SUMMARY"]): e for e in calendar.walk("VEVENT")}
    assert len(events) == len(due) == len(SPECIMENS), (list(events), due)
    assert len({str(e["UID"]) for e in events.values()}) == len(events)
    for row in due:
        event = next(e for s, e in events.items() if s.startswith("test %s (" % row["specimen"]))
        print(row["specimen"], event["DTSTART"].dt, event["DTEND"].dt)
        assert event["DTSTART"].dt == parsed(row["from"]), (event, row)
        assert event["DTEND"].dt == parsed(row["until"]), (event, row)
        group = SPECIMENS[row["specimen"]][2]
        assert not group or "set %s;" % group in str(event["DESCRIPTION"]), event
        assert event["DTSTAMP"].dt == parsed(at), event


if __name__ == "__main__":
    main(*sys.argv[1:])
