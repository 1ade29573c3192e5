/* SPDX-License-Identifier: MIT
 *
 * The whole daemon: runs are recorded, survive kills and a full disk, and what is stored gives the
 * stored outcome again; what it refuses.
 */
#include "rig.h"
#include "unit/check.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

static void start_seated(struct rig *rig)
{
	rig_start(rig);
	rig_seat(rig, "S-1");
	rig_await(rig, "\"phase\":\"idle\"");
}

static double time_of(const char *line)
{
	const char *at = strstr(line, "\"time_s\":");

	assert_non_null(at);
	return strtod(at + 9, NULL);
}

/* Once the load falls the maximum is on the disk, whatever of the batch's time is left. */
static void check_maximum_is_stored(struct rig *rig)
{
	double fell_s = time_of(rig_await(rig, "\"phase\":\"declining\"")), stored_s = 0;

	while (stored_s < fell_s)
		stored_s = time_of(rig_await(rig, "\"stored\""));
	print_message("falls at %.3f s, stored up to %.3f s\n", fell_s, stored_s);
	assert_true(stored_s < fell_s + 0.12);
}

static void test_a_run(void **state)
{
	struct rig *rig = *state;

	rig_start(rig);
	rig_seat(rig, "S-1");
	rig_await(rig, "\"seated\":{\"id\":\"S-1\"");
	rig_await(rig, "\"phase\":\"idle\"");
	rig_ramp(rig, 40, 0.1);
	rig_hear(rig, "\"run_open\"", "\"run\":1");
	rig_await(rig, "\"stress_pa\"");
	rig_await_load(rig);
	rig_ramp(rig, 0, -4);
	check_maximum_is_stored(rig);
	const char *closed = rig_hear(rig, "\"run_closed\"", "\"end\":\"broken\"");
	assert_non_null(strstr(closed, "\"specimen\":\"S-1\""));
	assert_non_null(strstr(closed, "\"run\":1"));
	rig_ask(rig, "{\"ask\":\"fracture\",\"run\":1,\"type\":2,\"note\":\"clean\"}\n");
	/* The specimen is used up, so the next run has none. */
	rig_ramp(rig, 20, 0.2);
	closed = rig_await(rig, "\"run_open\"");
	assert_null(strstr(closed, "S-1"));
	rig_await_load(rig);
	rig_stop(rig, SIGTERM, 0);
	struct run_record *record = rig_load_run(rig, 1);
	assert_int_equal(record->outcome.judgement.end, END_BROKEN);
	check_near((double)record->outcome.judgement.maximum_un, 40e9, 0.1e9);
	assert_int_equal(record->fracture.type, 2);
	assert_string_equal(record->start.specimen.id, "S-1");
	/* unloaded press before it */
	assert_true(record->outcome.judgement.maximum_at.ns - record->start.origin.ns >
		    CLOCKS_NS_PER_S);
	free(record);
	record = rig_load_run(rig, 2);
	assert_int_equal(record->outcome.judgement.end, END_INTERRUPTED);
	assert_false(record->start.has_specimen);
	free(record);
	/* No reading belongs to two runs, although the second came within the pre-roll's time. */
	assert_true(rig_span(rig, 2).first_ns > rig_span(rig, 1).last_ns);
	assert_int_not_equal(access(rig->socket, F_OK), 0);
}

static void idle_for(struct rig *rig, int lines)
{
	for (int i = 0; i < lines; i++) /* one every 20 ms */
		rig_await(rig, "\"phase\":\"idle\"");
}

static void break_specimen(struct rig *rig, bool killed)
{
	rig_begin_run(rig, 20, 0.1);
	if (killed) {
		rig_stop(rig, SIGKILL, 128 + SIGKILL);
		rig_start(rig);
	}
	rig_load_to(rig, 40, 0.1);
	/* The top lasts until the slower cell has seen it too. */
	for (int i = 0; i < 5; i++)
		rig_await(rig, "\"load_n\":80000");
	rig_ramp(rig, 0.3, -4);
	rig_await(rig, "\"run_closed\"");
}

/* Two cells that carry the load together, one of them slower: what is judged is their sum, and it
 * comes out of the database as it went in, the unloaded press before it included. */
static void test_two_cells(void **state)
{
	struct rig *rig = *state;

	rig_add_second_cell(rig);
	rig->load_kn = 0.3; /* the zero is off: only the readings before the contact tell */
	rig_start(rig);
	idle_for(rig, 75);
	break_specimen(rig, false);
	idle_for(rig, 75);
	break_specimen(rig, true);
	rig_stop(rig, SIGTERM, 0);
	for (int64_t run = 1; run <= 2; run++) {
		struct run_record *record = rig_load_run(rig, run);

		assert_int_equal(record->start.cell_count, 2);
		assert_int_equal(record->outcome.judgement.maximum_un, INT64_C(80000000000));
		assert_true(rig_has_event(record, EVENT_ZERO_OFFSET));
		free(record);
	}
}

static void test_killed_in_a_run(void **state)
{
	struct rig *rig = *state;

	start_seated(rig);
	rig_begin_run(rig, 30, 0.1);
	rig_stop(rig, SIGKILL, 128 + SIGKILL);
	rig_ramp(rig, 60, 0.1);
	rig_start(rig);
	rig_hear(rig, "\"live\"", "half");
	rig_await_load(rig);
	rig_ramp(rig, 0, -4);
	const char *closed = rig_hear(rig, "\"run_closed\"", "\"run\":1");
	assert_non_null(strstr(closed, "\"end\":\"broken\""));
	rig_stop(rig, SIGTERM, 0);
	struct run_record *record = rig_load_run(rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 60e9, 0.1e9);
	assert_string_equal(record->start.specimen.id, "S-1");
	free(record);
}

/* With another press the readings would mean something else: the old run is closed as it stands. */
static void test_killed_and_changed(void **state)
{
	struct rig *rig = *state;

	rig_start_idle(rig);
	rig_begin_run(rig, 30, 0.1);
	rig_stop(rig, SIGKILL, 128 + SIGKILL);
	FILE *file = fopen(rig->config, "ae");
	fputs("factor = 2\n", file);
	fclose(file);
	rig_start(rig);
	/* What is loaded now is a run of its own, at once. */
	rig_hear(rig, "\"run_open\"", "\"run\":2");
	rig_await_load(rig);
	rig_stop(rig, SIGTERM, 0);
	struct run_record *record = rig_load_run(rig, 1);
	assert_int_equal(record->outcome.judgement.end, END_INTERRUPTED);
	free(record);
	record = rig_load_run(rig, 2);
	check_near((double)record->outcome.judgement.maximum_un, 60e9, 0.5e9);
	free(record);
}

static void test_full_disk(void **state)
{
	struct rig *rig = *state;
	struct rlimit limit = {.rlim_max = RLIM_INFINITY};

	start_seated(rig);
	rig_ramp(rig, 30, 0.1);
	rig_await(rig, "\"run_open\"");
	limit.rlim_cur = 4096;
	assert_int_equal(prlimit(rig->daemon, RLIMIT_FSIZE, &limit, NULL), 0);
	rig_await(rig, "{\"durable\":false}");
	rig_await_load(rig);
	rig_ramp(rig, 0, -4);
	rig_await(rig, "\"phase\":\"declining\"");
	limit.rlim_cur = RLIM_INFINITY;
	assert_int_equal(prlimit(rig->daemon, RLIMIT_FSIZE, &limit, NULL), 0);
	rig_hear(rig, "run_closed", "\"end\":\"broken\"");
	rig_stop(rig, SIGTERM, 0);
	struct run_record *record = rig_load_run(rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 30e9, 0.1e9);
	assert_false(rig_has_event(record, EVENT_GAP));
	free(record);
}

static void test_second_daemon(void **state)
{
	struct rig *rig = *state;

	rig_start(rig);
	assert_int_equal(rig_end(rig_spawn(rig), 0), 2);
	rig_await(rig, "\"phase\":\"idle\"");
	/* Another database and lock, but the same socket. */
	FILE *file = fopen(rig->config, "we");
	fprintf(file,
		"[ramplogd]\ndatabase = %s2\nsocket = %s\n"
		"[press north]\ncapacity = 2000 kN\n"
		"[cell load]\npress = north\ndevice = %s\n",
		rig->database, rig->socket, rig->device);
	fclose(file);
	assert_int_equal(rig_end(rig_spawn(rig), 0), 2);
	rig_await(rig, "\"phase\":\"idle\"");
	rig_stop(rig, SIGTERM, 0);
}

static void test_refused_requests(void **state)
{
	struct rig *rig = *state;
	static const struct {
		const char *line, *why;
	} CASES[] = {
		{"{\"ask\":\"seat\",\"press\":\"south\",\"specimen\":\"S-1\"}\n", "no press south"},
		{"{\"ask\":\"seat\",\"press\":\"north\",\"specimen\":\"S-9\"}\n", "S-9"},
		{"{\"ask\":\"watch\",\"press\":\"south\"}\n", "no press south"},
		{"{\"ask\":\"fracture\",\"run\":3,\"type\":1}\n", "no run 3"},
		{"{\"ask\":\"confirm_method\",\"method\":\"astm-c39\",\"text\":\"x\","
		 "\"edition\":\"1\"}\n",
			"another text"},
		{"{\"ask\":\"report\",\"report\":{\"number\":9,\"set\":true,\"subject\":\"a\","
		 "\"at\":\"2026-03-01\",\"format\":\"pdf\",\"runs\":[1],\"hash\":"
		 "\"00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff\"}}\n",
			"not the next one, which is 1"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cylinder\","
		 "\"width_mm\":[0,0]}}\n",
			"\"error\""},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cylinder\","
		 "\"width_mm\":[100,100],\"method\":\"guess\"}}\n",
			"guess"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100],\"length_mm\":100,\"method\":\"astm-c39\"}}\n",
			"written for cylinders"},
	};

	rig_start(rig);
	for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
		assert_true(write(rig->client, CASES[i].line, strlen(CASES[i].line)) > 0);
		const char *answer = rig_await(rig, "\"ok\":false");
		if (!strstr(answer, CASES[i].why))
			fail_msg("%s", answer);
	}
	rig_seat(rig, "S-1");
	rig_stop(rig, SIGTERM, 0);
	/* The seat outlives the daemon. */
	rig_start(rig);
	assert_true(write(rig->client, "{\"ask\":\"status\"}\n", 17) == 17);
	const char *answer = rig_hear(rig, "\"ok\":true", "\"seated\":{\"id\":\"S-1\"");
	assert_non_null(strstr(answer, "\"durable\":true"));
	rig_stop(rig, SIGTERM, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		RIG_TEST(test_a_run),
		RIG_TEST(test_two_cells),
		RIG_TEST(test_killed_in_a_run),
		RIG_TEST(test_killed_and_changed),
		RIG_TEST(test_full_disk),
		RIG_TEST(test_second_daemon),
		RIG_TEST(test_refused_requests),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
