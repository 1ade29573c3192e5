/* SPDX-License-Identifier: MIT
 *
 * The sub-commands as a person calls them, without a daemon: what they print and how they exit.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "measure/curve.h"
#include "store/replay.h"

#include <fcntl.h>
#include <jansson.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

static void make_runs(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "north", "A-2", 2, 0.40, NULL);
	fixture_run(store, "south", NULL, 1, 0.25, NULL);
	store_close(store);
}

static void no_database(void **state)
{
	const char *path = *state;
	static const char *const lines[] = {"runs", "show 1", "export 1", "audit",
		"register A-1 --diameter-mm 100", "seat north A-1", "fracture 1 3"};
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++) {
		assert_int_equal(calls_run(path, lines[i]), EXIT_CANNOT);
		calls_say(calls_err, path);
		assert_string_equal(calls_out, "");
	}
	/* None was made by asking for it. */
	assert_int_equal(access(path, F_OK), -1);
}

static void mistakes(void **state)
{
	static const char *const lines[][2] = {
		{"runs --colour", "unrecognized option '--colour'"},
		{"runs --from yesterday", "'yesterday' is no ISO 8601 time"},
		{"runs --verdict good", "a verdict is in_band"},
		{"runs --limit 0", "--limit must be a whole number"},
		{"show", "which RUN?"},
		{"show one", "a run must be a whole number from 1 on, not 'one'"},
		{"show 1 2", "'2' is one too many"},
		{"export 1 --format pdf", "a format is csv or json, not 'pdf'"},
		{"audit -3", "invalid option"},
		{"seat", "which PRESS, and which SPECIMEN?"},
		{"fracture 1", "which RUN, and which TYPE"},
		{"fracture 1 7", "a number from 1 to 6, not 7"},

		{"register A", "give --diameter-mm"},
		{"register A --diameter-mm 0", "'0' is no length"},
		{"register A --diameter-mm 1e99", "'1e99' is no length"},
		{"register A --diameter-mm 100,", "'100,' is no length, nor several"},
		{"register A --diameter-mm nan", "'nan' is no length"},
		{"register A --diameter-mm 100 --side-mm 100", "given twice"},
		{"register A --side-mm 100 --cast 2026-11-18T09:30", "with its zone"},
		{"register A --side-mm 100 --anticipated-mpa -3", "must be a number above zero"},
		{"register A --side-mm 100 --method astm-c1",
			"there is no method 'astm-c1'; there are:"},
		{"register A --diameter-mm 1 --length-mm 2", "mm"},
		{"register A --diameter-mm 100,110 --length-mm 200", "2 %"},
	};
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++) {
		assert_int_equal(calls_run(*state, lines[i][0]), EXIT_CANNOT);
		calls_say(calls_err, lines[i][1]);
	}
}

static void register_seat_and_fracture_without_a_daemon(void **state)
{
	const char *path = *state;
	struct specimen specimen;
	make_runs(path);
	assert_int_equal(
		calls_run(path, "register B-1 --set B --diameter-in 4,4.01 --length-in 8.00002 "
				"--method astm-c39-inch-pound --anticipated-psi 4000"),
		EXIT_DONE);
	assert_int_equal(calls_run(path, "register B-1 --diameter-mm 150"), EXIT_CANNOT);
	calls_say(calls_err, "B-1");
	assert_int_equal(calls_run(path, "seat north B-1"), EXIT_DONE);
	assert_string_equal(calls_out, "B-1 is the next specimen in north\n");
	assert_int_equal(calls_run(path, "seat north B-9"), EXIT_CANNOT);
	assert_int_equal(
		calls_run(path, "fracture 2 5 --note voids --cap-defects chipped"), EXIT_DONE);
	assert_int_equal(calls_run(path, "fracture 99 5"), EXIT_CANNOT);
	struct store *store = fixture_open(path, STORE_READ);
	assert_int_equal(store_seated(store, "north", &specimen), STORE_OK);
	store_close(store);
	/* 4 in = 101.6 mm and 4.01 in = 101.854 mm exactly. */
	assert_int_equal(specimen.width_um[0], 101600);
	assert_int_equal(specimen.width_um[1], 101854);
	/* 203200.508 um */
	assert_int_equal(specimen.length_um, 203201);
	check_near(specimen.anticipated_pa, 4000 * 6894.757293168361, 1e-6);
}

static void who_holds_the_lock_writes_alone(void **state)
{
	const char *path = *state;
	char lock[500];
	make_runs(path);
	snprintf(lock, sizeof(lock), "%s-lock", path);
	int fd = open(lock, O_RDWR | O_CREAT | O_CLOEXEC, 0640);
	assert_int_equal(flock(fd, LOCK_SH), 0);
	assert_int_equal(calls_run(path, "fracture 1 3"), EXIT_CANNOT);
	calls_say(calls_err, "only one may");
	close(fd);
	assert_int_equal(calls_run(path, "fracture 1 3"), EXIT_DONE);
	unlink(lock);
}

static void corrections_show_with_the_original(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "correct 1 --void"), EXIT_CANNOT);
	calls_say(calls_err, "why?");
	assert_int_equal(calls_run(path, "correct 1 --void --reason dirt"), EXIT_DONE);
	assert_int_equal(calls_run(path, "correct 1 --void --reason dirt"), EXIT_CANNOT);
	calls_say(calls_err, "voided already");
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	calls_say(calls_out, "VOID, ");
	assert_int_equal(calls_run(path, "show 1"), EXIT_DONE);
	calls_say(calls_out, "does not count");
	calls_say(calls_out, "dirt");
	assert_int_equal(calls_run(path, "correct 1 --valid --reason clean"), EXIT_DONE);
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
}

static void an_anchor_and_a_copy(void **state)
{
	const char *path = *state;
	char command[320], anchor[100] = "", copy[300];
	make_runs(path);
	assert_int_equal(calls_run(path, "audit --anchor"), EXIT_DONE);
	const char *line = strchr(calls_out, '\n');
	assert_non_null(line);
	snprintf(anchor, sizeof(anchor), "%s", line + 1);
	anchor[strcspn(anchor, "\n")] = '\0';
	snprintf(command, sizeof(command), "audit --since %s", anchor);
	assert_int_equal(calls_run(path, command), EXIT_DONE);
	calls_say(calls_out, "nothing up to seal");
	snprintf(copy, sizeof(copy), "%s.copy", path);
	snprintf(command, sizeof(command), "backup %s", copy);
	assert_int_equal(calls_run(path, command), EXIT_DONE);
	calls_say(calls_out, "verified");
	assert_int_equal(calls_run(copy, "audit"), EXIT_DONE);
	char *last = anchor + strlen(anchor) - 1;
	*last = *last == '0' ? '1' : '0';
	snprintf(command, sizeof(command), "audit --since %s", anchor);
	assert_int_equal(calls_run(path, command), EXIT_NO);
	calls_say(calls_out, "anchor");
	unlink(copy);
}

static void runs_as_a_table(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	calls_say(calls_out, "run  started");
	calls_say(calls_out, "in band");
	calls_say(calls_out, "OUT OF BAND");
	assert_true(strstr(calls_out, "A-1") < strstr(calls_out, "A-2"));
	assert_int_equal(calls_run(path, "runs --verdict out_of_band"), EXIT_DONE);
	assert_null(strstr(calls_out, "A-1"));
	assert_int_equal(calls_run(path, "runs --specimen C-9"), EXIT_NO);
	assert_string_equal(calls_out, "");
	calls_say(calls_err, "no run matches");
	assert_int_equal(calls_run(path, "runs --limit 1"), EXIT_DONE);
	assert_null(strstr(calls_out, "north"));
	calls_say(calls_out, "south");
}

/* "broken" until somebody says how. An ordinary row has 80 columns at most. */
static void how_a_run_ended(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	calls_say(calls_out, "  broken\n");
	assert_null(strstr(calls_out, "type"));
	assert_int_equal(calls_run(path, "fracture 1 3"), EXIT_DONE);
	assert_int_equal(calls_run(path, "runs --press north"), EXIT_DONE);
	calls_say(calls_out, "  type 3\n");
	for (const char *line = calls_out; *line; line += strcspn(line, "\n") + 1)
		assert_true(*line == '*' || strcspn(line, "\n") <= 80);
	assert_int_equal(calls_run(path, "correct 1 --void --reason dirt"), EXIT_DONE);
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	calls_say(calls_out, "  VOID, type 3\n");
}

static json_t *parse_out(void)
{
	json_error_t error;
	json_t *value = json_loads(calls_out, 0, &error);
	if (!value)
		fail_msg("not JSON: %s", error.text);
	return value;
}

static size_t count_lines(const char *text)
{
	size_t count = 0;
	for (; (text = strchr(text, '\n')) != NULL; text++)
		count++;
	return count;
}

/* Of a million runs nobody wants to see more, and nobody should take them for all. */
static void a_table_has_the_newest_two_hundred(void **state)
{
	const char *path = *state;
	struct run_start start;
	int64_t run = 0;
	struct store *store = fixture_open(path, STORE_WRITE);
	fixture_start(&start, "north", NULL, 1);
	assert_int_equal(store_begin(store), STORE_OK);
	for (int i = 0; i < 200; i++)
		assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	assert_int_equal(count_lines(calls_out), 201);
	assert_string_equal(calls_err, "");
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(store_run_open(store, &start, &run), STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
	assert_int_equal(calls_run(path, "runs"), EXIT_DONE);
	assert_int_equal(count_lines(calls_out), 201);
	calls_say(calls_err, "the newest 200; --all shows every one");
	assert_null(strstr(calls_out, "  1  "));
	calls_say(calls_out, "201  ");
	assert_int_equal(calls_run(path, "runs --all"), EXIT_DONE);
	assert_int_equal(count_lines(calls_out), 202);
	assert_string_equal(calls_err, "");
	assert_int_equal(calls_run(path, "runs --json"), EXIT_DONE);
	/* Each run as it is read: a million of them need no memory. */
	assert_int_equal(count_lines(calls_out), 201 + 2);
	assert_memory_equal(calls_out, "[\n{", 3);
	assert_non_null(strstr(calls_out, "\"run\": 1,"));
}

static void runs_and_show_as_json(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "fracture 2 5"), EXIT_DONE);
	assert_int_equal(calls_run(path, "runs --json"), EXIT_DONE);
	json_t *list = parse_out();
	assert_int_equal(json_array_size(list), 3);
	assert_int_equal(calls_run(path, "show 2 --json"), EXIT_DONE);
	json_t *object = parse_out();
	/* The same names for the same things. */
	assert_true(json_equal(object, json_array_get(list, 1)));
	assert_string_equal(json_string_value(json_object_get(object, "specimen")), "A-2");
	assert_int_equal(json_integer_value(json_object_get(object, "fracture")), 5);
	assert_string_equal(
		json_string_value(json_object_get(json_object_get(object, "rate"), "verdict")),
		"out_of_band");
	assert_true(json_integer_value(json_object_get(object, "samples")) > 100);
	json_decref(object);
	json_decref(list);
	assert_int_equal(calls_run(path, "runs --json --press west"), EXIT_NO);
	assert_string_equal(calls_out, "[]\n");
}

static void show_for_a_person(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "show 1 --ascii"), EXIT_DONE);
	calls_say(calls_out, "run 1 on north\n");
	calls_say(calls_out, "\nload, kN\n");
	calls_say(calls_out, "\nstress rate, MPa/s");
	calls_say(calls_out, "not entered yet");
	assert_int_equal(calls_run(path, "fracture 1 2 --note caps"), EXIT_DONE);
	assert_int_equal(calls_run(path, "fracture 1 4"), EXIT_DONE);
	assert_int_equal(calls_run(path, "show 1"), EXIT_DONE);
	calls_say(calls_out, "2: a cone on one end");
	calls_say(calls_out, "caps");
	calls_say(calls_out, "4: diagonal");
	assert_int_equal(calls_run(path, "show 3"), EXIT_DONE);
	calls_say(calls_out, "none was seated");
	assert_null(strstr(calls_out, "\nstress rate, MPa/s"));
	assert_int_equal(calls_run(path, "show 4"), EXIT_NO);
	calls_say(calls_err, "there is no run 4");
}

static void export_gives_every_sample_back(void **state)
{
	const char *path = *state;
	struct run_record record;
	struct replay replay;
	struct curve curve;
	struct message why;
	make_runs(path);
	assert_int_equal(calls_run(path, "export 2"), EXIT_DONE);
	if (!curve_parse("export", calls_out, strlen(calls_out), &curve, &why))
		fail_msg("%s", why.text);
	struct store *store = fixture_open(path, STORE_READ);
	assert_int_equal(store_run_load(store, 2, &record), STORE_OK);
	assert_int_equal(replay_run(store, &record, &replay), STORE_OK);
	assert_int_equal(curve.count, replay.sample_count);
	for (size_t i = 0; i < curve.count; i++) {
		assert_int_equal(curve.samples[i].load_un, replay.samples[i].load_un);
		assert_int_equal(curve.samples[i].time.ns,
			replay.samples[i].time.ns - record.start.origin.ns);
	}
	assert_int_equal(calls_run(path, "export 2 --json"), EXIT_DONE);
	json_t *object = parse_out();
	assert_int_equal(json_array_size(json_object_get(object, "samples")), curve.count);
	json_decref(object);
	replay_finish(&replay);
	curve_finish(&curve);
	store_close(store);
	assert_int_equal(calls_run(path, "export 2 -o /nonexistent/curve.csv"), EXIT_CANNOT);
	calls_say(calls_err, "/nonexistent/curve.csv could not be written");
}

static void tamper(const char *path, const char *statement)
{
	sqlite3 *database;
	assert_int_equal(sqlite3_open(path, &database), SQLITE_OK);
	assert_int_equal(sqlite3_exec(database, statement, NULL, NULL, NULL), SQLITE_OK);
	sqlite3_close(database);
}

static void audit_finds_a_changed_value(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "audit"), EXIT_DONE);
	calls_say(calls_out, "all runs re-derived, all seals intact: 3 runs, ");
	assert_int_equal(calls_run(path, "audit 9"), EXIT_NO);
	calls_say(calls_out, "run 9: ");
	/* Only rows that are added are allowed; whoever changes one has to take the guard off. */
	tamper(path, "DROP TRIGGER run_outcome_no_update;"
		     "UPDATE run_outcome SET maximum_un = maximum_un + 1000000 WHERE run = 2");
	assert_int_equal(calls_run(path, "audit"), EXIT_NO);
	calls_say(calls_out, "run 2: maximum_un is stored as ");
	assert_null(strstr(calls_out, "all runs"));
	assert_int_equal(calls_run(path, "audit 1"), EXIT_DONE);
	assert_int_equal(calls_run(path, "audit --json"), EXIT_NO);
	json_t *object = parse_out();
	assert_true(json_is_false(json_object_get(object, "agrees")));
	assert_true(json_array_size(json_object_get(object, "findings")) >= 2);
	json_decref(object);
}

#define COMMAND_TEST(test) cmocka_unit_test_setup_teardown(test, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		COMMAND_TEST(no_database),
		COMMAND_TEST(mistakes),
		COMMAND_TEST(register_seat_and_fracture_without_a_daemon),
		COMMAND_TEST(who_holds_the_lock_writes_alone),
		COMMAND_TEST(corrections_show_with_the_original),
		COMMAND_TEST(an_anchor_and_a_copy),
		COMMAND_TEST(runs_as_a_table),
		COMMAND_TEST(how_a_run_ended),
		COMMAND_TEST(a_table_has_the_newest_two_hundred),
		COMMAND_TEST(runs_and_show_as_json),
		COMMAND_TEST(show_for_a_person),
		COMMAND_TEST(export_gives_every_sample_back),
		COMMAND_TEST(audit_finds_a_changed_value),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
