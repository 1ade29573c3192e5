/* SPDX-License-Identifier: MIT
 *
 * What leaves the laboratory: results as a table, corrections beside what they correct, and a case
 * in a folder that others check without this program.
 */
#include "../check.h"
#include "../store/fixture.h"
#include "calls.h"
#include "commands.h"
#include "measure/curve.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Run 1 is corrected and has two fracture entries, run 2 is voided, run 3 goes on. */
static void make_runs(const char *path)
{
	struct store *store = fixture_open(path, STORE_WRITE);
	struct specimen specimen;
	struct utc_time now = {INT64_C(1772100000) * CLOCKS_NS_PER_S};
	fixture_run(store, "north", "A-1", 1, 0.25, NULL);
	fixture_run(store, "north", "A-2", 2, 0.60, NULL);
	fixture_run_unclosed(store, "south");
	fixture_specimen(&specimen, "A-1");
	specimen.width_um[0] += 1000;
	assert_int_equal(store_begin(store), STORE_OK);
	assert_int_equal(
		store_specimen_correct(store, &specimen, "read, wrongly", &fixture_actor, now),
		STORE_OK);
	assert_int_equal(store_fracture_add(store, 1, 2, "", &fixture_actor, now), STORE_OK);
	assert_int_equal(
		store_fracture_add(store, 1, 3, "seen again", &fixture_actor, now), STORE_OK);
	assert_int_equal(store_run_void(store, 2, true, "dirt on the platen", &fixture_actor, now),
		STORE_OK);
	assert_int_equal(store_commit(store), STORE_OK);
	store_close(store);
}

static const char *text_of(const json_t *object, const char *key)
{
	return json_string_value(json_object_get(object, key));
}

static void corrections_stand_beside(void **state)
{
	const char *path = *state;
	struct curve curve;
	struct message why;
	make_runs(path);
	assert_int_equal(calls_run(path, "export 1"), EXIT_DONE);
	calls_say(calls_out, "# fracture: {\"type\": 2");
	calls_say(calls_out, "# fracture: {\"type\": 3, \"note\": \"seen again\"");
	calls_say(calls_out, "\"reason\": \"read, wrongly\"");
	calls_say(calls_out, "# strength_reported: 3.0 MPa\n");
	calls_say(calls_out, "# strength_corrected: 3.0 MPa\n");
	assert_true(curve_parse("export", calls_out, strlen(calls_out), &curve, &why));
	curve_finish(&curve);
	assert_int_equal(calls_run(path, "export 2"), EXIT_DONE);
	calls_say(calls_out, "# voided: yes\n");
	calls_say(calls_out, "\"kind\": \"void\", \"reason\": \"dirt on the platen\"");

	assert_int_equal(calls_run(path, "export 1 --json"), EXIT_DONE);
	json_t *object = json_loads(calls_out, 0, NULL);
	assert_int_equal(json_array_size(json_object_get(object, "fractures")), 2);
	const json_t *one = json_array_get(json_object_get(object, "corrections"), 0);
	assert_string_equal(text_of(one, "kind"), "specimen");
	assert_string_equal(text_of(one, "by"), fixture_actor.name);
	assert_string_equal(text_of(one, "at"), "2026-02-26T10:00:00.000Z");
	assert_string_equal(text_of(json_object_get(one, "specimen"), "id"), "A-1");
	double corrected = json_real_value(json_object_get(one, "strength_mpa"));
	json_decref(object);

	assert_int_equal(calls_run(path, "show 1 --json"), EXIT_DONE);
	object = json_loads(calls_out, 0, NULL);
	double first = json_real_value(json_object_get(object, "strength_mpa"));
	assert_true(corrected > 2 && first > corrected * 1.005);
	assert_true(
		json_real_value(json_object_get(object, "strength_corrected_mpa")) == corrected);
	json_decref(object);
}

static void results_as_a_table(void **state)
{
	const char *path = *state;
	make_runs(path);
	assert_int_equal(calls_run(path, "export --results"), EXIT_DONE);
	assert_int_equal(strncmp(calls_out,
				 "run,press,started,specimen,set,method,end,"
				 "maximum_load_n,",
				 57),
		0);
	calls_say(calls_out, "\n1,north,2026-");
	calls_say(calls_out, "\n2,north,2026-");
	calls_say(calls_out, "\n3,south,2026-");
	/* As many cells in each row, quotes understood. */
	size_t cells = 1, expected = 0, rows = 0;
	bool quoted = false;
	for (const char *at = calls_out; *at; at++) {
		quoted = quoted != (*at == '"');
		cells += *at == ',' && !quoted;
		if (*at != '\n')
			continue;
		assert_true(rows == 0 || cells == expected);
		expected = cells;
		cells = 1;
		rows++;
	}
	assert_int_equal(rows, 4);
	assert_int_equal(
		calls_run(path, "export --results --verdict out_of_band --json"), EXIT_DONE);
	json_t *list = json_loads(calls_out, 0, NULL);
	assert_int_equal(json_array_size(list), 1);
	json_decref(list);
	assert_int_equal(calls_run(path, "export --results --set nowhere"), EXIT_NO);
	assert_int_equal(calls_run(path, "export 1 2"), EXIT_CANNOT);
	calls_say(calls_err, "one curve at a time");
}

/* The programs that a third party has; what they say goes nowhere. */
static int shell(const char *folder, const char *command)
{
	char line[900];
	snprintf(line, sizeof(line), "cd '%s' && { %s ; } > /dev/null 2>&1", folder, command);
	return system(line);
}

static void a_case_for_others(void **state)
{
	char folder[300], line[400];
	make_runs(*state);
	snprintf(folder, sizeof(folder), "%s.case", (const char *)*state);
	snprintf(line, sizeof(line), "export --folder %s 1 2", folder);
	assert_int_equal(calls_run(*state, line), EXIT_DONE);
	calls_say(calls_out, "sha256sum -c");
	assert_int_equal(shell(folder, "sha256sum --strict -c manifest-sha256.txt"), 0);
	assert_int_equal(shell(folder, "sha256sum --strict -c tagmanifest-sha256.txt"), 0);
	/* Every file of the payload is in the manifest. */
	assert_int_equal(shell(folder, "test $(find data -type f | wc -l) = "
				       "$(wc -l < manifest-sha256.txt)"),
		0);
	/* The seal, from its bytes, with nothing of ours. */
	assert_int_equal(shell(folder, "cd data/run-2 && b2sum -l 256 sealed/*-seal | "
				       "cut -d' ' -f1 | xargs -I{} grep -x 'hash: {}' seal.txt"),
		0);
	assert_int_equal(
		shell(folder,
			"cd data/run-2 && for part in $(ls sealed/* | head -n -1); do "
			"sum=$(b2sum -l 256 $part | cut -d' ' -f1); "
			"od -An -v -tx1 sealed/*-seal | tr -d ' \\n' | grep -q $sum || exit 1; "
			"done"),
		0);
	if (shell(folder, "openssl version") == 0)
		assert_int_equal(shell(folder, "cd data/run-1 && openssl pkeyutl -verify -pubin "
					       "-inkey ../key-1.pem -rawin -in seal.hash "
					       "-sigfile seal.signature"),
			0);
	/* It is not written over, and a changed byte shows. */
	assert_int_equal(calls_run(*state, line), EXIT_CANNOT);
	calls_say(calls_err, "File exists");
	assert_int_equal(shell(folder, "printf 9 | dd of=data/run-1/readings.csv bs=1 seek=99 "
				       "conv=notrunc"),
		0);
	assert_int_not_equal(shell(folder, "sha256sum -c manifest-sha256.txt"), 0);
}

static void a_case_is_whole_or_not_there(void **state)
{
	char folder[300], line[400];
	make_runs(*state);
	snprintf(folder, sizeof(folder), "%s.case", (const char *)*state);
	snprintf(line, sizeof(line), "export --folder %s", folder);
	assert_int_equal(calls_run(*state, line), EXIT_NO);
	calls_say(calls_err, "run 3 is not over");
	assert_int_equal(access(folder, F_OK), -1);
	snprintf(folder, sizeof(folder), "%s.case.part", (const char *)*state);
	assert_int_equal(access(folder, F_OK), -1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, fixture_setup, fixture_teardown)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(corrections_stand_beside),
		TEST(results_as_a_table),
		TEST(a_case_for_others),
		TEST(a_case_is_whole_or_not_there),
	};
	return cmocka_run_group_tests_name("export", tests, NULL, NULL);
}
