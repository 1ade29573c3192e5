/* SPDX-License-Identifier: MIT
 *
 * The audit: every run derived again from its readings and compared field by field, bit for bit;
 * every seal recomputed over the rows that it covers, its signature and its link to the seal before
 * it; and the file itself: its pages, its tables and triggers, rows that no seal covers.
 *
 * Its parts can be done side by side, each on a connection of its own, so that an audit of years
 * uses all processors. What is added while it goes on is left to the next audit.
 */
#ifndef STORE_AUDIT_H
#define STORE_AUDIT_H

#include "store/store.h"

enum audit_kind {
	AUDIT_FIELD,    /* a stored value is not what the readings give */
	AUDIT_SEAL,     /* the content does not give its seal, or the chain is broken */
	AUDIT_MISSING,  /* a run, its readings or its seal are not there */
	AUDIT_FILE,     /* a damaged page, a table or trigger that was changed, a row too many */
	AUDIT_UNCLOSED, /* the run was never closed: reported, no difference */
};

struct audit_finding {
	enum audit_kind kind;
	int64_t run;    /* 0: it concerns none */
	char place[48]; /* "run 12", "fracture 3 (run 12)", "seal 40", "the file" */
	char field[48];
	char stored[80];
	char derived[80];
};

struct audit_summary {
	size_t run_count;    /* closed runs looked at */
	size_t sample_count; /* derived again */
	size_t entry_count;  /* sealed entries that are no runs: specimens, corrections ... */
	size_t difference_count;
	size_t unclosed_count;
	bool stopped; /* progress said so */
};

typedef void audit_take(void *context, const struct audit_finding *finding);
/* done of total runs; false stops the audit. May be NULL. */
typedef bool audit_progress(void *context, size_t done, size_t total);

/* How far an audit goes: what there was when it began. */
struct audit_extent {
	int64_t newest_run;
	int64_t newest_seal;
	int64_t first_key_seal; /* from here on every seal is signed; 0: there is no key */
	/* From here on signatures are checked; 0, as audit_begin leaves it: all of them. */
	int64_t first_signature;
};

struct audit_hooks {
	audit_take *take;
	audit_progress *progress; /* NULL: never stops. For the file with 0 of 0 */
	void *context;
};

/* The pages, before anything else: a damaged file is not walked, since its pages may lead in a
 * circle, and then only what is found here is told. */
enum store_status audit_pages(
	struct store *store, const struct audit_hooks *hooks, struct audit_summary *summary);
enum store_status audit_begin(struct store *store, struct audit_extent *extent);
/* Runs first to last. The summary is added to; STORE_OK also where progress stopped it. */
enum store_status audit_some_runs(struct store *store, const struct audit_extent *extent,
	int64_t first, int64_t last, const struct audit_hooks *hooks,
	struct audit_summary *summary);
/* What is sealed besides runs, and that the chain has no hole, seals first to last. */
enum store_status audit_some_seals(struct store *store, const struct audit_extent *extent,
	int64_t first, int64_t last, const struct audit_hooks *hooks,
	struct audit_summary *summary);
/* Every seal of anything, the rows under it included, but nothing is judged again: what it takes to
 * know that a copy is whole. */
enum store_status audit_every_seal(struct store *store, const struct audit_extent *extent,
	const struct audit_hooks *hooks, struct audit_summary *summary);
/* The file as a whole: its tables, its triggers, rows that belong to nothing. */
enum store_status audit_file(struct store *store, const struct audit_extent *extent,
	const struct audit_hooks *hooks, struct audit_summary *summary);

/* All of it, one after the other; or only the named runs, where one that does not exist is a
 * finding (AUDIT_MISSING). */
enum store_status audit_runs(struct store *store, const int64_t *runs, size_t run_count,
	audit_take *take, audit_progress *progress, void *context, struct audit_summary *summary);

/* An anchor: the newest seal as a short text to be kept elsewhere, "SEAL:HASH". */
enum { AUDIT_ANCHOR_SIZE = 96 };

struct audit_anchor {
	int64_t seal;
	unsigned char hash[STORE_SEAL_SIZE];
};

/* STORE_NONE: nothing is sealed yet. run_count: runs that it covers. */
enum store_status audit_anchor_newest(
	struct store *store, struct audit_anchor *anchor, int64_t *run_count);
void audit_anchor_text(const struct audit_anchor *anchor, char text[AUDIT_ANCHOR_SIZE]);
/* Blanks and hyphens between the digits, as on paper, are passed over. */
bool audit_anchor_parse(const char *text, struct audit_anchor *anchor);
/* A finding where the chain does not hold the anchor. Together with a whole audit it proves that
 * nothing sealed up to the anchor was changed since it was written out. */
enum store_status audit_anchor_check(struct store *store, const struct audit_anchor *anchor,
	const struct audit_hooks *hooks, struct audit_summary *summary);

#endif
