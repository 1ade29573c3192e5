/* SPDX-License-Identifier: MIT
 *
 * The lines of a watcher: what the daemon writes is what the monitor reads.
 */
#include "unit/check.h"
#include "wire/live.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static struct live_line read_back(const char *text, size_t length)
{
	struct live_line line;
	struct message why = {""};

	assert_int_equal(text[length - 1], '\n');
	if (!live_read(text, length - 1, &line, &why))
		fail_msg("%s: %s", text, why.text);
	return line;
}

static struct live_line read_json(json_t *value)
{
	char *text = json_dumps(value, JSON_COMPACT);
	struct live_line line;
	struct message why = {""};

	assert_non_null(text);
	if (!live_read(text, strlen(text), &line, &why))
		fail_msg("%s: %s", text, why.text);
	free(text);
	json_decref(value);
	return line;
}

static void test_sample(void **state)
{
	const struct mono_time origin = {INT64_C(123456789000)};
	struct live live = {
		.phase = PHASE_LATTER_HALF,
		.time = {origin.ns + INT64_C(62123456000)},
		.load_un = INT64_C(271234567000),
		.maximum_un = INT64_C(271300000000),
		.stress_pa = 34534567.0,
		.has_rate = true,
		.rate_pa_s = -251234.0,
		.rate_uncertainty_pa_s = 512.0,
		.band_begins_un = INT64_C(78500000000),
		.advice = ADVICE_TOO_FAST,
		.warning = true,
		.text = "rate 0.33 MPa/s, above 0.30: ease the valve",
	};
	char buffer[LIVE_LINE_SIZE];
	struct text text;

	(void)state;
	text_init(&text, buffer, sizeof buffer);
	live_write_sample(&text, "north", &live, origin, 7);
	struct live_line line = read_back(buffer, text.length);
	assert_int_equal(line.kind, LIVE_SAMPLE);
	assert_string_equal(line.press, "north");
	assert_int_equal(line.skipped, 7);
	assert_int_equal(line.sample.phase, live.phase);
	assert_int_equal(line.sample.time.ns, live.time.ns - origin.ns);
	assert_int_equal(line.sample.load_un, live.load_un);
	assert_int_equal(line.sample.maximum_un, live.maximum_un);
	check_near(line.sample.stress_pa, live.stress_pa, 0);
	assert_true(line.sample.has_rate);
	check_near(line.sample.rate_pa_s, live.rate_pa_s, 0);
	check_near(line.sample.rate_uncertainty_pa_s, live.rate_uncertainty_pa_s, 0);
	assert_int_equal(line.sample.band_begins_un, live.band_begins_un);
	assert_int_equal(line.sample.advice, live.advice);
	assert_true(line.sample.warning);
	assert_string_equal(line.sample.text, live.text);
	live_line_finish(&line);
}

/* Every text at its longest, every character of it one that JSON writes as six. */
static void test_longest_sample_fits(void **state)
{
	struct live live = {
		.phase = PHASE_LATTER_HALF,
		.time = {INT64_MAX},
		.load_un = -UNITS_LOAD_UN_MAX,
		.maximum_un = UNITS_LOAD_UN_MAX,
		.stress_pa = -1e15,
		.has_rate = true,
		.rate_pa_s = -1e15,
		.rate_uncertainty_pa_s = 1e15,
		.band_begins_un = UNITS_LOAD_UN_MAX,
		.advice = ADVICE_LEAVE_ALONE,
		.warning = true,
	};
	char press[SPECIMEN_NAME_SIZE], buffer[LIVE_LINE_SIZE];
	struct text text;

	(void)state;
	memset(live.text, 1, sizeof live.text - 1);
	memset(press, 'n', sizeof press - 1);
	press[sizeof press - 1] = '\0';
	text_init(&text, buffer, sizeof buffer);
	live_write_sample(&text, press, &live, (struct mono_time){0}, INT64_MAX);
	assert_false(text.overflow);

	struct event event = {.kind = EVENT_ALIGNMENT_CHECK, .time = {INT64_MAX}};
	memset(event.text, '"', sizeof event.text - 1);
	text_init(&text, buffer, sizeof buffer);
	live_write_event(&text, press, &event, (struct mono_time){0});
	assert_false(text.overflow);
}

static void test_idle_sample_is_short(void **state)
{
	struct live live = {.phase = PHASE_IDLE, .load_un = 20000000};
	char buffer[LIVE_LINE_SIZE];
	struct text text;

	(void)state;
	text_init(&text, buffer, sizeof buffer);
	live_write_sample(&text, "north", &live, live.time, 0);
	assert_string_equal(buffer, "{\"press\":\"north\",\"live\":{\"phase\":\"idle\","
				    "\"time_s\":0.000000,\"load_n\":20.000,"
				    "\"maximum_n\":0.000}}\n");
	struct live_line line = read_back(buffer, text.length);
	assert_false(line.sample.has_rate);
	assert_int_equal(line.sample.advice, ADVICE_NONE);
	live_line_finish(&line);
}

static void test_stored(void **state)
{
	char buffer[LIVE_LINE_SIZE];
	struct text text;

	(void)state;
	text_init(&text, buffer, sizeof buffer);
	live_write_stored(&text, "north", 12, (struct mono_time){INT64_C(5000250000000)},
		(struct mono_time){INT64_C(5000000000000)});
	assert_string_equal(
		buffer, "{\"press\":\"north\",\"stored\":{\"run\":12,\"time_s\":0.250000}}\n");
	struct live_line line = read_back(buffer, text.length);
	assert_int_equal(line.kind, LIVE_STORED);
	assert_int_equal(line.run, 12);
	assert_int_equal(line.stored.ns, 250 * CLOCKS_NS_PER_MS);
	live_line_finish(&line);
}

static void test_event(void **state)
{
	struct event event = {
		.kind = EVENT_STALL,
		.time = {INT64_C(5250000000)},
		.load_un = INT64_C(-1500000),
		.text = "the load \"stood still\" for 2.0 s",
	};
	char buffer[LIVE_LINE_SIZE];
	struct text text;

	(void)state;
	text_init(&text, buffer, sizeof buffer);
	live_write_event(&text, "north", &event, (struct mono_time){250000000});
	struct live_line line = read_back(buffer, text.length);
	assert_int_equal(line.kind, LIVE_EVENT);
	assert_int_equal(line.event.kind, event.kind);
	assert_int_equal(line.event.time.ns, INT64_C(5000000000));
	assert_int_equal(line.event.load_un, event.load_un);
	assert_string_equal(line.event.text, event.text);
	live_line_finish(&line);
}

static void test_run_lines(void **state)
{
	struct live_run run = {.run = 12,
		.has_specimen = true,
		.specimen = {.id = "S-17", .shape = SHAPE_CUBE, .width_um = {150000, 150000}},
		.method = "en-12390-3",
		.band_low_pa_s = 540000,
		.band_high_pa_s = 660000,
		.area_mm2 = 22500};
	struct live_fracture fracture = {.run = 12, .type = 4, .note = "one side"};

	(void)state;
	struct live_line line = read_json(live_json_run_open("north", &run));
	assert_int_equal(line.kind, LIVE_RUN_OPEN);
	assert_int_equal(line.run_open.run, 12);
	assert_true(line.run_open.has_specimen);
	assert_string_equal(line.run_open.specimen.id, "S-17");
	assert_string_equal(line.run_open.method, "en-12390-3");
	check_near(line.run_open.band_high_pa_s, 660000, 0);
	check_near(line.run_open.area_mm2, 22500, 0);
	live_line_finish(&line);

	line = read_json(live_json_run_closed("north", json_pack("{s:i}", "run", 12)));
	assert_int_equal(line.kind, LIVE_RUN_CLOSED);
	assert_string_equal(line.press, "north");
	assert_int_equal(json_integer_value(
				 json_object_get(json_object_get(line.json, "run_closed"), "run")),
		12);
	live_line_finish(&line);

	line = read_json(live_json_fracture("north", &fracture));
	assert_int_equal(line.kind, LIVE_FRACTURE);
	assert_int_equal(line.fracture.type, 4);
	assert_string_equal(line.fracture.note, "one side");
	live_line_finish(&line);
}

static void test_state_lines(void **state)
{
	struct status_cell cell = {.name = "east",
		.device = "/dev/ttyS7",
		.state = CELL_SILENT,
		.reading_count = 5,
		.error_count = 3,
		.text = "nothing comes"};

	(void)state;
	struct live_line line = read_json(live_json_cell("north", &cell));
	assert_int_equal(line.kind, LIVE_CELL);
	assert_int_equal(line.cell.state, CELL_SILENT);
	assert_int_equal(line.cell.error_count, 3);
	assert_string_equal(line.cell.text, "nothing comes");
	live_line_finish(&line);

	line = read_json(live_json_seated("north", NULL));
	assert_int_equal(line.kind, LIVE_SEATED);
	assert_false(line.has_specimen);
	live_line_finish(&line);

	line = read_json(live_json_durable(false));
	assert_int_equal(line.kind, LIVE_DURABLE);
	assert_false(line.durable);
	live_line_finish(&line);
	line = read_json(live_json_durable(true));
	assert_true(line.durable);
	live_line_finish(&line);
}

static void test_press_round_trip(void **state)
{
	struct status_press read;
	struct status_press press = {.name = "north",
		.method = "astm-c39",
		.capacity_un = INT64_C(2000000) * UNITS_UN_PER_N,
		.phase = PHASE_SEATING,
		.has_seated = true,
		.seated = {.id = "S-18", .shape = SHAPE_CYLINDER, .width_um = {100000, 100000}},
		.run = 9,
		.cell_count = 2,
		.cells = {{.name = "a", .device = "/dev/a"}, {.name = "b", .device = "/dev/b"}}};
	struct message why = {""};

	(void)state;
	json_t *object = status_press_json(&press);
	if (!status_press_read(object, &read, &why))
		fail_msg("%s", why.text);
	json_decref(object);
	assert_string_equal(read.name, "north");
	assert_int_equal(read.capacity_un, press.capacity_un);
	assert_int_equal(read.phase, PHASE_SEATING);
	assert_true(read.has_seated);
	assert_string_equal(read.seated.id, "S-18");
	assert_int_equal(read.run, 9);
	assert_int_equal(read.cell_count, 2);
	assert_string_equal(read.cells[1].device, "/dev/b");
}

static void test_answers_are_no_lines(void **state)
{
	static const char ANSWER[] = "{\"ok\":true,\"durable\":true,\"presses\":[]}";
	static const char UNKNOWN[] = "{\"press\":\"north\",\"of a later version\":{}}";
	struct live_line line;

	(void)state;
	assert_true(live_read(ANSWER, strlen(ANSWER), &line, NULL));
	assert_int_equal(line.kind, LIVE_OTHER);
	live_line_finish(&line);
	assert_true(live_read(UNKNOWN, strlen(UNKNOWN), &line, NULL));
	assert_int_equal(line.kind, LIVE_OTHER);
	live_line_finish(&line);
}

static void test_bad_lines(void **state)
{
	static const char *const LINES[] = {
		"",
		"null",
		"{\"press\":7,\"live\":{}}",
		"{\"press\":\"n\",\"live\":null}",
		"{\"press\":\"n\",\"live\":{\"phase\":\"idle\"}}",
		"{\"press\":\"n\",\"live\":{\"phase\":\"asleep\",\"time_s\":0,\"load_n\":0,"
		"\"maximum_n\":0}}",
		"{\"press\":\"n\",\"live\":{\"phase\":\"idle\",\"time_s\":0,\"load_n\":1e300,"
		"\"maximum_n\":0}}",
		"{\"press\":\"n\",\"event\":{\"kind\":\"party\",\"time_s\":0,\"load_n\":0}}",
		"{\"press\":\"n\",\"cell\":{\"cell\":\"a\",\"device\":\"b\",\"state\":\"odd\"}}",
		"{\"press\":\"n\",\"run_open\":{\"run\":1}}",
		"{\"press\":\"n\",\"fracture\":{\"run\":1,\"type\":\"3\"}}",
		"{\"durable\":1}",
	};

	(void)state;
	for (size_t i = 0; i < sizeof LINES / sizeof LINES[0]; i++) {
		struct live_line line;
		struct message why = {""};

		if (live_read(LINES[i], strlen(LINES[i]), &line, &why))
			fail_msg("accepted: %s", LINES[i]);
		assert_true(why.text[0] != '\0');
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_sample),
		cmocka_unit_test(test_longest_sample_fits),
		cmocka_unit_test(test_idle_sample_is_short),
		cmocka_unit_test(test_stored),
		cmocka_unit_test(test_event),
		cmocka_unit_test(test_run_lines),
		cmocka_unit_test(test_state_lines),
		cmocka_unit_test(test_press_round_trip),
		cmocka_unit_test(test_answers_are_no_lines),
		cmocka_unit_test(test_bad_lines),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
