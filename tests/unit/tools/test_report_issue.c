/* SPDX-License-Identifier: MIT
 *
 * Reports that are issued: amended, made again, and with corrections of what was reported.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "paper.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* One after the other; each is on record, and the file is known again. */
static void amended_and_issued(void **state)
{
	const char *database = *state;
	char line[300];
	paper_runs(database);
	paper_done(database, "a.txt", "report set-p --issue --reviewer Ines --laboratory Kaiwerk");
	calls_say(calls_out, "report 1 on set set-p is issued");
	char *text = paper_read(database, "a.txt", NULL);
	calls_say(text, "Report 1\n");
	calls_say(text, "reviewer          Ines");
	calls_say(text, "Kaiwerk, set set-p; Report 1.");
	assert_null(strstr(text, "raft"));
	free(text);
	snprintf(line, sizeof(line), "report --check %s", paper_beside(database, "a.txt"));
	calls_done(database, line);
	calls_say(calls_out, "is report 1 on set set-p, as issued 20");
	calls_say(calls_out, "none replaces it");
	/* Again: not without a reason, and not for nothing. */
	assert_int_equal(paper_make(database, "b.txt", "report set-p --issue"), EXIT_CANNOT);
	calls_say(calls_err, "was reported as report 1 of");
	assert_int_equal(access(paper_beside(database, "b.txt"), F_OK), -1);
	assert_int_equal(
		paper_make(database, "b.txt", "report 1 --issue --because mistyped"), EXIT_CANNOT);
	calls_say(calls_err, "was not reported before");
	assert_int_equal(paper_make(database, "b.txt", "report 1 --because mistyped"), EXIT_CANNOT);
	paper_done(database, "b.txt", "report set-p --issue --because mistyped");
	text = paper_read(database, "b.txt", NULL);
	calls_say(text, "! Amended report: it replaces report 1, because mistyped.");
	free(text);
	assert_int_equal(calls_run(database, line), EXIT_NO);
	calls_say(calls_out, "report 2 REPLACES it");
	/* What was replaced is replaced once. */
	assert_int_equal(paper_make(database, "c.txt", "report 1 --issue --amends 1 --because no"),
		EXIT_CANNOT);
	calls_say(calls_err, "replaced by report 2 already");
	paper_done(database, "c.txt", "report 1 --issue --amends 2 --because one");
	calls_done(database, "report --list");
	calls_say(calls_out, "mistyped");
	calls_done(database, "audit");
	snprintf(line, sizeof(line), "report --check %s", database);
	assert_int_equal(calls_run(database, line), EXIT_NO);
}

/* The file of an issued report can be made again, as long as nothing that is on it was put right.
 */
static void issued_and_made_again(void **state)
{
	const struct utc_time later = {INT64_C(1772001000) * CLOCKS_NS_PER_S};
	const char *database = *state;
	paper_runs(database);
	paper_done(database, "a.pdf", "report set-p --issue");
	/* A later run of the set was not on it. */
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run(store, "north", "pier-C", 1, 0.25, NULL);
	store_close(store);
	paper_done(database, "b.pdf", "report --again 1");
	paper_same(database, "a.pdf", "b.pdf");
	paper_done(database, "b.html", "report --again 1");
	assert_int_equal(paper_make(database, "c.pdf", "report --again 9"), EXIT_NO);
	store = fixture_open(database, STORE_WRITE);
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(
		store_run_void(store, 2, true, "wrong cap", &fixture_actor, later), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	assert_int_equal(paper_make(database, "c.pdf", "report --again 1"), EXIT_NO);
	calls_say(calls_err, "does not come out as it was issued");
	assert_int_equal(access(paper_beside(database, "c.pdf"), F_OK), -1);
}

/* Corrected data hold, what was before is said; a run that does not count is out of the mean. */
static void corrections_hold_and_are_said(void **state)
{
	const struct utc_time later = {INT64_C(1772001000) * CLOCKS_NS_PER_S};
	const char *database = *state;
	struct specimen specimen;
	paper_runs(database);
	struct store *store = fixture_open(database, STORE_WRITE);
	fixture_run(store, "north", "pier-C", 1, 0.25, NULL);
	fixture_specimen(&specimen, "pier-A");
	specimen.width_um[0] = specimen.width_um[1] = 102000;
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(
		store_specimen_correct(store, &specimen, "mistyped widths", &fixture_actor, later),
		STORE_OK);
	assert_int_equal(
		store_run_void(store, 2, true, "wrong cap", &fixture_actor, later), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	char *text = paper_text(database, "report set-p");
	calls_say(text, "102.00");
	calls_say(text, "  before:");
	calls_say(text, "! pier-A: run 1 was judged again with corrected data, by mara,");
	calls_say(text, "mistyped widths.");
	calls_say(text, "! pier-B: run 2 does not count, by mara,");
	calls_say(text, "mean of 2, from unrounded strengths");
	calls_say(text, "pier-B *");
	/* 3 MPa on 100.125 mm, measured on 102 mm: 2.89 MPa. */
	calls_say(text, "2.9 MPa  mean of 2");
	calls_say(text, "public key 1");
	free(text);
	paper_done(database, "a.pdf", "report set-p");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		FIXTURE_TEST(amended_and_issued),
		FIXTURE_TEST(issued_and_made_again),
		FIXTURE_TEST(corrections_hold_and_are_said),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
