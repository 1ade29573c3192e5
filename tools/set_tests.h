/* SPDX-License-Identifier: MIT
 *
 * Sets of companions as they stand today: which runs count, and what strength test they make.
 */
#ifndef TOOLS_SET_TESTS_H
#define TOOLS_SET_TESTS_H

#include "result/companions.h"
#include "store/store.h"

enum { SET_RUNS_MAX = 64 };

struct set_run {
	int64_t run;
	struct specimen specimen; /* as corrected last */
	struct run_row row;
	struct fracture_row fracture;
	double strength_pa;  /* as corrected, by the fracture entered; 0: none */
	const char *without; /* why it does not count; NULL: it does */
};

struct set_test {
	struct set_terms terms;
	bool has_terms;
	const struct method
		*method; /* of its runs; NULL: they have several, or none that is known */
	struct set_run runs[SET_RUNS_MAX];
	size_t run_count;
	size_t count; /* of runs that count */
	struct companions companions;
	bool complete;           /* each of them has its fracture type */
	int64_t width_um;        /* mean of those that count */
	struct utc_time sampled; /* when it was cast, else when its first run began */
};

/* Why a run of the set does not count for it, NULL: it does; set "": by itself, whatever set it is
 * of. specimen: as corrected last, NULL: none; strength_pa: by the fracture of that type. That the
 * specimen broke before is not looked at here. */
const char *set_run_without(const char *set, const struct run_row *row,
	const struct specimen *specimen, int fracture_type, double strength_pa);
extern const char set_run_second[]; /* why, where the specimen was loaded again */

/* STORE_NONE: no run of that set. Errors are in store_error. */
enum store_status set_test_load(struct store *store, const char *set, struct set_test *test);

/* What the test is judged by under its terms. */
struct acceptance_input set_test_input(const struct set_test *test);

/* Why the rule would not call this a strength test; NULL: it would, or there is no rule. */
const char *set_test_too_few(const struct set_test *test);

#endif
