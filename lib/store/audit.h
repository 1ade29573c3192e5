/* SPDX-License-Identifier: MIT
 *
 * The audit: every named run re-derived from its readings and compared field by field, bit for bit;
 * every seal recomputed over the run's whole content and the seal before it.
 */
#ifndef STORE_AUDIT_H
#define STORE_AUDIT_H

#include "store/store.h"

enum audit_kind {
	AUDIT_FIELD,    /* a stored value is not what the readings give */
	AUDIT_SEAL,     /* the run's content does not give its seal, or the chain is broken */
	AUDIT_MISSING,  /* a run or its readings are not there */
	AUDIT_UNCLOSED, /* the run was never closed: reported, no difference */
};

struct audit_finding {
	enum audit_kind kind;
	int64_t run;
	char field[48];
	char stored[80];
	char derived[80];
};

struct audit_summary {
	size_t run_count;    /* closed runs looked at */
	size_t sample_count; /* derived again */
	size_t difference_count;
	size_t unclosed_count;
};

typedef void audit_take(void *context, const struct audit_finding *finding);
/* done of total runs; false stops the audit. May be NULL. */
typedef bool audit_progress(void *context, size_t done, size_t total);

/* runs NULL: all of them. A number in runs that does not exist is a finding (AUDIT_MISSING). */
enum store_status audit_runs(struct store *store, const int64_t *runs, size_t run_count,
	audit_take *take, audit_progress *progress, void *context, struct audit_summary *summary);

#endif
