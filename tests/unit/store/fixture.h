/* SPDX-License-Identifier: MIT
 *
 * What the tests of the store share: a folder that goes away again, and runs as the daemon would
 * write them: readings in batches, judged live from the same readings, closed.
 */
#ifndef TESTS_UNIT_STORE_FIXTURE_H
#define TESTS_UNIT_STORE_FIXTURE_H

#include "store/store.h"

struct sqlite3;

extern const struct actor fixture_actor;

/* For cmocka: *state becomes the path of a database that does not exist yet, in a new folder. */
int fixture_setup(void **state);
int fixture_teardown(void **state);
#define FIXTURE_TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

struct store *fixture_open(const char *path, enum store_mode mode);
/* Another connection, as any program would open it; nothing switched on that SQLite leaves off. */
struct sqlite3 *fixture_connect(const char *path);
void fixture_begin(struct store *store);
void fixture_commit(struct store *store);

/* A cylinder of 100 mm that is expected to carry 3 MPa. */
void fixture_specimen(struct specimen *specimen, const char *id);
/* A run of that specimen (NULL: nothing seated) on a press with so many cells. */
void fixture_start(struct run_start *start, const char *press, const struct specimen *specimen,
	size_t cell_count);

/* Each of these in a transaction of its own. */
void fixture_register(struct store *store, const char *id);
void fixture_seat(struct store *store, const char *press, const char *id);
/* A run of one cell, left open without a reading. */
int64_t fixture_run_open(struct store *store, const char *press, const struct specimen *specimen);

/* Registers and seats the specimen (NULL: none), then opens, fills and closes a run of
 * rate_mpa_s up to 3 MPa, 100 readings a second; outcome (may be NULL) is what was judged live. */
int64_t fixture_run(struct store *store, const char *press, const char *specimen, size_t cell_count,
	double rate_mpa_s, struct outcome *outcome);
/* The same, left open. */
int64_t fixture_run_unclosed(struct store *store, const char *press);
/* A row in every table that is added to beside runs, and a fracture of that run and a correction of
 * its specimen. */
void fixture_rows(struct store *store, int64_t run, const char *specimen);
/* Puts the next report on record, on that run, within a transaction; replaces: 0, or which. */
void fixture_report(struct store *store, int64_t run, int64_t replaces);

#endif
