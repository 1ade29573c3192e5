/* SPDX-License-Identifier: MIT
 *
 * Inside of the audit: what its files share.
 */
#ifndef STORE_AUDIT_INSIDE_H
#define STORE_AUDIT_INSIDE_H

#include "store/audit.h"
#include "store/seal.h"

struct audit {
	struct store *store;
	const struct audit_extent *extent;
	const struct audit_hooks *hooks;
	struct audit_summary *summary;
	struct judge *judge; /* where runs are derived */
	int64_t run;
	char place[48];
};

/* From now on the hooks are asked within long statements too whether to go on: a torn file may lead
 * through the same pages for ever. */
void audit_watch(struct audit *audit);
/* The end of it. Where they said no, the error is no more than that: stopped, and STORE_OK. */
enum store_status audit_unwatch(struct audit *audit, enum store_status status);

/* The pages of a run of two minutes at 1 kHz are kept until it is hashed, and no more: memory that
 * was never used before costs more than to read a page again. */
void audit_keep_few_pages(struct store *store);

/* From now on findings are of this run; of this row of something else; of the file. */
void audit_at_run(struct audit *audit, int64_t run);
void audit_at_row(struct audit *audit, const struct seal *seal);
void audit_at_file(struct audit *audit);

void audit_find(struct audit *audit, enum audit_kind kind, const char *field, const char *stored,
	const char *derived);
/* Damage is a finding, and STORE_OK comes back; anything else ends the audit. */
enum store_status audit_judge_status(
	struct audit *audit, enum store_status status, const char *field);
/* Everything about one seal: the rows under it, its hash, its link, its signature. */
enum store_status audit_seal(struct audit *audit, const struct seal *seal);

#endif
