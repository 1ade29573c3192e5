/* SPDX-License-Identifier: MIT
 *
 * What the tests of the audit share: a database of three closed runs with a row in every table,
 * written once, a copy of it for every test; the forger's tools; and what the audit then finds.
 */
#ifndef TESTS_UNIT_STORE_FORGE_H
#define TESTS_UNIT_STORE_FORGE_H

#include "store/audit.h"

struct sqlite3;

enum { FORGE_FINDINGS_MAX = 400, FORGE_PATH_SIZE = 300 };

struct forge_findings {
	size_t count;
	struct audit_finding list[FORGE_FINDINGS_MAX];
	size_t done, stop_at;
};

/* For cmocka, of the group and of each test: *state becomes the path of the test's own copy. */
int forge_write_master(void **state);
int forge_setup(void **state);
#define FORGE_TEST(name) cmocka_unit_test_setup_teardown(name, forge_setup, fixture_teardown)

/* Copies the file beside itself, over an earlier copy, and says where it is. */
void forge_copy(const char *path, char copy[FORGE_PATH_SIZE]);
/* Nothing that keeps a forger out: no triggers, no checks; and no waiting for the disk. */
struct sqlite3 *forge_break_in(const char *path);
void forge_sql(struct sqlite3 *db, const char *text);
/* Puts the triggers back as they were: a forger would. */
void forge_leave(struct sqlite3 *db);

/* Hooks of the audit, for a struct forge_findings. */
void forge_keep(void *context, const struct audit_finding *finding);
bool forge_keep_going(void *context, size_t done, size_t total);
void forge_audit(const char *path, struct forge_findings *findings, struct audit_summary *summary);
/* Breaks into a copy with these statements and audits it. */
void forge_tamper(const char *path, const char *text, struct forge_findings *findings);
void forge_print(const struct forge_findings *findings);
void forge_assert_names(const struct forge_findings *findings, int64_t run, const char *field);

#endif
