#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Checks the seals of a ramplog database, following docs/seal.md and nothing else.

The queries are read out of that document, so that it cannot say one thing while the programs do
another. Nothing here is taken from the C sources; hashes come from hashlib, Ed25519 from OpenSSL.

Usage: check_seals.py DATABASE docs/seal.md [PUBLIC-KEY-HEX]
With a public key, which every report shows, the keys on record must be that one.
Prints one line for each seal that does not hold; exits with 1 if there was one.
"""
import hashlib
import re
import sqlite3
import struct
import sys

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey


def encode(value):
    if value is None:
        return b"n" + bytes(8)
    if isinstance(value, int):
        return b"i" + struct.pack(">q", value)
    if isinstance(value, float):
        return b"r" + struct.pack(">d", value)
    letter = b"t" if isinstance(value, str) else b"b"
    data = value.encode() if isinstance(value, str) else bytes(value)
    return letter + struct.pack(">q", len(data)) + data


def digest(values):
    return hashlib.blake2b(b"".join(map(encode, values)), digest_size=32).digest()


def read_layouts(path):
    """{(subject, version): [(part, query), ...]} from the tables below '### SUBJECT, version N'."""
    layouts, present = {}, None
    for line in open(path, encoding="utf-8"):
        head = re.match(r"### `(\w+)`, version (\d+)", line)
        row = re.match(r"\| (\w+) \| `(SELECT [^`]+)` \|", line)
        if head:
            present = layouts.setdefault((head[1], int(head[2])), [])
        elif row and present is not None:
            present.append((row[1], row[2]))
    return layouts


def part_hash(db, part, query, number):
    values = [part]
    for row in db.execute(query, (number,)):
        values.extend(row)
    return digest(values)


def check(path, document, expected_key=None):
    """Everything that does not hold, as texts."""
    db = sqlite3.connect("file:" + path + "?mode=ro", uri=True)
    db.execute("BEGIN")
    layouts, wrong = read_layouts(document), []
    keys = dict(db.execute("SELECT key, public_key FROM signing_key"))
    wrong += ["key %d is another one" % key for key, public in keys.items()
              if expected_key and public != expected_key]
    previous, runs, number_before, signed_before = bytes(32), 0, 0, False
    for (seal, subject, number, run_count, version, stored_previous, parts, stored_hash, key,
         signature) in db.execute("SELECT seal, subject, number, run_count, version, previous,"
                                  " parts, hash, key, signature FROM seal ORDER BY seal"):
        place = "seal %d (%s %d): " % (seal, subject, number)
        runs += subject == "run"
        if seal != number_before + 1:
            wrong.append(place + "the seal before it is missing")
        if stored_previous != previous:
            wrong.append(place + "does not follow the seal before it")
        if run_count != runs:
            wrong.append(place + "counts runs wrongly")
        names = layouts[subject, version]
        now = [part_hash(db, part, query, number) for part, query in names]
        for i, (part, _) in enumerate(names):
            if parts[32 * i:32 * i + 32] != now[i]:
                wrong.append(place + part + " was changed")
        values = ["ramplog seal", version, seal]
        if version > 2:
            values += [subject, number, run_count, key]
        else:
            values += [number]
        if digest(values + [stored_previous, parts]) != stored_hash:
            wrong.append(place + "hash does not fit")
        signed_before = signed_before or key is not None
        try:
            if key is not None:
                Ed25519PublicKey.from_public_bytes(keys[key]).verify(signature, stored_hash)
            elif version > 2 or signed_before:
                wrong.append(place + "is not signed")
        except (InvalidSignature, KeyError):
            wrong.append(place + "signature does not fit")
        previous, number_before = stored_hash, seal
    db.close()
    return wrong, number_before


if __name__ == "__main__":
    if len(sys.argv) not in (3, 4):
        sys.exit(__doc__)
    found, count = check(sys.argv[1], sys.argv[2],
                         bytes.fromhex(sys.argv[3]) if len(sys.argv) == 4 else None)
    print("\n".join(found + ["%d seals, %d that do not hold" % (count, len(found))]))
    sys.exit(1 if found else 0)
