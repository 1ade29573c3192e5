#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""A program in another language, working from docs/seal.md, must agree with every database that
ramplog keeps for its tests, and must find what was changed in one.

Usage: test_seals.py DATABASES docs/seal.md
"""
import glob
import os
import shutil
import sqlite3
import sys
import tempfile

import check_seals

CHANGES = {
    "run_outcome": "UPDATE run_outcome SET strength_pa = strength_pa + 1 WHERE run = 2",
    "chunk": "UPDATE chunk SET readings = zeroblob(9) WHERE run = 1 AND seq = 0",
    "fracture": "UPDATE fracture SET by_name = 'somebody' WHERE fracture = 1",
    "does not follow": "DELETE FROM seal WHERE seal = 3",
    "signature": "UPDATE seal SET signature = zeroblob(64) WHERE seal = 4",
    "hash does not fit": "UPDATE seal SET hash = zeroblob(32) WHERE seal = 4",
}


def forge(path, statement):
    db = sqlite3.connect(path)
    for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
        db.execute("DROP TRIGGER " + name)
    db.execute(statement)
    db.commit()
    db.close()


def main(folder, document):
    tried = 0
    for path in sorted(glob.glob(os.path.join(folder, "version-*.db"))):
        if path.endswith(("version-1.db", "version-2.db")):
            continue  # their tables have no keys yet; ramplog brings them up to date
        wrong, count = check_seals.check(path, document)
        print("%s: %d seals" % (os.path.basename(path), count))
        assert not wrong and count > 5, wrong
        for expected, statement in CHANGES.items():
            with tempfile.TemporaryDirectory() as scratch:
                copy = shutil.copy(path, os.path.join(scratch, "copy.db"))
                forge(copy, statement)
                wrong, _ = check_seals.check(copy, document)
                assert any(expected in text for text in wrong), (statement, wrong)
                tried += 1
    assert tried >= len(CHANGES)
    print("%d changes were found" % tried)


main(*sys.argv[1:])
