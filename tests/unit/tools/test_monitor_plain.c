/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "lines.h"
#include "monitor_plain.h"

#include <stdlib.h>
#include <string.h>

static struct monitor_state state;

/* What is written for one line from the daemon. */
static void check_line(const char *line, const char *expected)
{
	struct monitor_news news;
	char *written;
	size_t size;
	FILE *out = open_memstream(&written, &size);
	assert_non_null(out);
	monitor_state_line(&state, line, strlen(line), &news);
	monitor_plain_put(&state, &news, out);
	fclose(out);
	assert_string_equal(written, expected);
	free(written);
}

static int set_up(void **context)
{
	(void)context;
	monitor_state_init(&state, "north");
	check_line(LINES_STATUS, "north: idle, quay-7-1 of set quay-7, cell c1 is ready\n");
	return 0;
}

static void one_line_per_change(void **context)
{
	(void)context;
	check_line(LINES_LIVE("north", "seating", "0.5", "900", ""),
		"north: 0.5 s: seating at 0.9 kN\n");
	check_line(LINES_LIVE("north", "seating", "0.6", "990", ""), "");
	check_line(LINES_RUN_OPEN, "north: run 12 begins, quay-7-1 of set quay-7\n");
	check_line(LINES_TOO_FAST, "north: 62.2 s: latter half at 140.0 kN: WARNING: "
				   "rate 0.33 MPa/s, above 0.30: ease the valve\n");
	check_line("{\"press\":\"north\",\"event\":{\"kind\":\"shock\",\"time_s\":63.1,"
		   "\"load_n\":141000,\"text\":\"the load jumped\"}}",
		"north: 63.1 s: shock at 141.0 kN: the load jumped\n");
	check_line(LINES_RUN_CLOSED("12", "out_of_band"),
		"north: run 12 is over: 247.3 kN, 31.5 MPa, broken, rate: OUT OF BAND\n");
	check_line("{\"press\":\"north\",\"fracture\":{\"run\":12,\"type\":3,\"note\":\"voids\"}}",
		"north: run 12: fracture type 3, voids\n");
}

static void idle_has_no_time(void **context)
{
	(void)context;
	check_line(LINES_LIVE("north", "released", "70", "0", ""),
		"north: 70.0 s: released at 0.0 kN\n");
	check_line(LINES_LIVE("north", "idle", "0", "-90", ""), "north: idle at -0.1 kN\n");
}

static void others_are_left_out(void **context)
{
	(void)context;
	check_line(LINES_LIVE("south", "seating", "0.5", "900", ""), "");
}

static void trouble(void **context)
{
	(void)context;
	check_line("{\"press\":\"north\",\"cell\":{\"cell\":\"c1\",\"device\":\"/dev/ttyUSB0\","
		   "\"state\":\"absent\",\"text\":\"unplugged\"}}",
		"north: cell c1 is absent: unplugged\n");
	check_line("{\"durable\":false}", "WARNING: the disk takes no readings: put this right "
					  "before the next specimen\n");
	check_line("{\"press\":\"north\",\"seated\":null}", "north: next: no specimen\n");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(one_line_per_change, set_up),
		cmocka_unit_test_setup(idle_has_no_time, set_up),
		cmocka_unit_test_setup(others_are_left_out, set_up),
		cmocka_unit_test_setup(trouble, set_up),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
