/* SPDX-License-Identifier: MIT
 *
 * A report as it was given out: what was said on it beside the record, and the hash of its file.
 * The file itself is not kept: made again from the record, its hash says whether it is the same.
 */
#ifndef RESULT_ISSUED_H
#define RESULT_ISSUED_H

#include "result/specimen.h"

#include <stddef.h>

enum {
	ISSUED_RUNS_MAX = 64,
	ISSUED_TEXT_SIZE = 128,
	ISSUED_REASON_SIZE = 256,
	ISSUED_HASH_SIZE = 65, /* BLAKE2b-256 as 64 hexadecimal digits, as b2sum -l 256 gives it */
	ISSUED_FORMAT_SIZE = 8,
};

struct issued {
	int64_t number; /* 1, 2, 3 ... */
	bool is_set;
	char subject[SPECIMEN_NAME_SIZE]; /* a set by its name, a run by its number */
	struct utc_time at;
	char laboratory[ISSUED_TEXT_SIZE], customer[ISSUED_TEXT_SIZE], reviewer[ISSUED_TEXT_SIZE];
	bool field;                      /* made under field conditions */
	int64_t replaces;                /* an amended report: which one; 0: none */
	char reason[ISSUED_REASON_SIZE]; /* and why */
	char format[ISSUED_FORMAT_SIZE]; /* of the file: "pdf" */
	char hash[ISSUED_HASH_SIZE];     /* of the file */
	size_t run_count;
	int64_t runs[ISSUED_RUNS_MAX];
};

#endif
