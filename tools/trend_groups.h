/* SPDX-License-Identifier: MIT
 *
 * Runs gathered by press, technician or week: how the rates lay in their bands. Pure arithmetic.
 *
 * A rate's place in its band: 0 in the middle, -1 and +1 at the limits. So runs of two methods, or
 * in two systems of units, can be looked at together.
 */
#ifndef TOOLS_TREND_GROUPS_H
#define TOOLS_TREND_GROUPS_H

#include "judge/judge.h"
#include "store/store.h"

struct trend_run {
	char press[STORE_NAME_SIZE];
	char technician[STORE_NAME_SIZE]; /* who entered the fracture type; "" nobody yet */
	char set[STORE_NAME_SIZE];        /* "" none */
	struct utc_time started;
	enum verdict verdict;   /* not VERDICT_NONE: there was a rate */
	double mean, low, high; /* places in the band */
	double strength_pa;     /* 0: none */
};

/* Fills in what can be told of a run; false where there was no rate to judge, or the run
 * does not count. */
bool trend_run_of(struct trend_run *run, const struct rate_row *row);

enum trend_by {
	TREND_BY_PRESS,
	TREND_BY_TECHNICIAN,
	TREND_BY_WEEK, /* ISO 8601 week, UTC */
};

struct trend_group {
	bool unknown;               /* by technician: of runs whose fracture nobody entered yet */
	char name[STORE_NAME_SIZE]; /* "north", "2026-W48" */
	size_t runs, in_band, out_of_band;
	double mean;            /* of the runs' means */
	double low, high;       /* medians of the runs' least and largest place */
	double lowest, highest; /* of all runs */
	size_t sets;            /* with two strengths or more */
	double range_percent;   /* mean of their ranges, of the sets' means */
};

/* Sorts the runs; groups by name in *groups, which is the caller's to free. False when memory is
 * short. */
bool trend_groups(struct trend_run *runs, size_t count, enum trend_by by,
	struct trend_group **groups, size_t *group_count);

/* A press whose mean place moved steadily: by how much a week, and over the whole time. */
struct trend_creep {
	double per_week;
	double total;
	double weeks;
};

/* False: the runs of that press are too few, or do not show it. */
bool trend_creep_of(
	const struct trend_run *runs, size_t count, const char *press, struct trend_creep *creep);

#endif
