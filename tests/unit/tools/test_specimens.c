/* SPDX-License-Identifier: MIT
 *
 * What a laboratory enters and asks around a break, without a daemon: methods confirmed, specimens
 * registered with all that was measured, what is due, sets of companions, labels.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void make_runs(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	store_close(store);
}

/* The report on run 1 as text. */
static void read_report(const char *path, char *text, size_t size)
{
	char command[300], name[260];
	snprintf(name, sizeof(name), "%s.txt", path);
	snprintf(command, sizeof(command), "report 1 -o %s", name);
	assert_int_equal(calls_run(path, command), EXIT_DONE);
	FILE *file = fopen(name, "r");
	assert_non_null(file);
	text[fread(text, 1, size - 1, file)] = '\0';
	fclose(file);
	unlink(name);
}

static void a_method_is_confirmed_once(void **state)
{
	static char report[100000];
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "not confirmed by the laboratory");
	read_report(path, report, sizeof(report));
	calls_say(report, "ASTM C39/C39M (SI), not confirmed by the laboratory");
	assert_int_equal(calls_run(path, "methods astm-c39"), EXIT_DONE);
	calls_say(calls_out, "confirmed   not by the laboratory");
	assert_int_equal(calls_run(path, "methods --confirm astm-c39"), EXIT_CANNOT);
	calls_say(calls_err, "which --edition");
	assert_int_equal(calls_run(path, "methods --confirm yard-9 --edition 1"), EXIT_CANNOT);
	calls_say(calls_err, "there is no method 'yard-9'");
	assert_int_equal(
		calls_run(path, "methods --confirm astm-c39 --edition C39M-21 --note copy-14"),
		EXIT_DONE);
	calls_say(calls_out, "astm-c39 is confirmed against C39M-21");
	assert_int_equal(calls_run(path, "methods astm-c39"), EXIT_DONE);
	calls_say(calls_out, "against C39M-21 by ");
	calls_say(calls_out, ": copy-14");
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "confirmed against C39M-21");
	read_report(path, report, sizeof(report));
	calls_say(report, "confirmed against edition");
	assert_null(strstr(report, "not confirmed"));
	/* Not another one. */
	assert_int_equal(calls_run(path, "methods en-12390-3"), EXIT_DONE);
	calls_say(calls_out, "confirmed   not by the laboratory");
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

#define SPECIMEN_TEST(test) cmocka_unit_test_setup_teardown(test, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SPECIMEN_TEST(a_method_is_confirmed_once),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
