/* SPDX-License-Identifier: MIT */
#include "../check.h"
#include "lines.h"
#include "monitor_state.h"

#include <stdio.h>
#include <string.h>

static struct monitor_state state;
static struct monitor_news news;

static void feed(const char *line)
{
	monitor_state_line(&state, line, strlen(line), &news);
}

static int set_up(void **context)
{
	(void)context;
	monitor_state_init(&state, NULL);
	monitor_state_connected(&state);
	feed(LINES_STATUS);
	return 0;
}

static void status_names_the_presses(void **context)
{
	(void)context;
	assert_int_equal(news.kind, MONITOR_NEWS_STATUS);
	assert_int_equal(state.press_count, 2);
	const struct monitor_press *press = monitor_state_shown(&state);
	assert_string_equal(press->status.name, "north");
	assert_string_equal(monitor_press_specimen(press)->id, "quay-7-1");
	monitor_state_show_next(&state);
	assert_string_equal(monitor_state_shown(&state)->status.name, "south");
	assert_true(monitor_press_inch_pound(monitor_state_shown(&state)));
	monitor_state_show_next(&state);
	assert_string_equal(monitor_state_shown(&state)->status.name, "north");
}

static void wanted_press(void **context)
{
	(void)context;
	monitor_state_init(&state, "south");
	feed(LINES_STATUS);
	assert_false(state.wanted_missing);
	assert_string_equal(monitor_state_shown(&state)->status.name, "south");
	monitor_state_init(&state, "west");
	feed(LINES_STATUS);
	assert_true(state.wanted_missing);
}

static void band_before_and_in_a_run(void **context)
{
	double low, high;
	(void)context;
	/* ASTM C39, SI: 0.25 +- 0.05 MPa/s. */
	assert_true(monitor_press_band(&state.presses[0], &low, &high));
	check_near(low, 0.2e6, 1e-6);
	check_near(high, 0.3e6, 1e-6);
	feed(LINES_RUN_OPEN);
	assert_int_equal(news.kind, MONITOR_NEWS_RUN_OPEN);
	assert_int_equal(state.presses[0].status.run, 12);
	assert_true(monitor_press_band(&state.presses[0], &low, &high));
	check_near(high, 300000, 0);
	assert_string_equal(monitor_press_specimen(&state.presses[0])->id, "quay-7-1");
}

static void news_only_when_something_changed(void **context)
{
	(void)context;
	feed(LINES_LIVE("north", "seating", "0.5", "900", ""));
	assert_int_equal(news.kind, MONITOR_NEWS_LIVE);
	assert_true(news.phase_changed);
	feed(LINES_LIVE("north", "seating", "0.55", "950", ""));
	assert_int_equal(news.kind, MONITOR_NEWS_NONE);
	feed(LINES_TOO_FAST);
	assert_true(news.phase_changed && news.advice_changed);
	assert_string_equal(
		state.presses[0].live.text, "rate 0.33 MPa/s, above 0.30: ease the valve");
	assert_int_equal(state.presses[0].track_count, 3);
	assert_int_equal(state.presses[1].track_count, 0);
}

static void next_run_begins_a_new_curve(void **context)
{
	(void)context;
	feed(LINES_LIVE("north", "seating", "0.5", "900", ""));
	feed(LINES_LIVE("north", "first_half", "1.5", "9000", ""));
	feed(LINES_LIVE("north", "released", "2.5", "0", ""));
	assert_int_equal(state.presses[0].track_count, 2);
	feed(LINES_LIVE("north", "seating", "0.2", "900", ""));
	assert_int_equal(state.presses[0].track_count, 1);
}

static void a_long_run_is_thinned(void **context)
{
	char line[300];
	struct monitor_press *press = &state.presses[0];
	(void)context;
	for (int i = 0; i < 3 * MONITOR_TRACK_MAX; i++) {
		snprintf(line, sizeof(line), LINES_LIVE("north", "first_half", "%d", "%d", ""), i,
			i * 10, i * 10);
		feed(line);
	}
	assert_true(press->track_count > MONITOR_TRACK_MAX / 2);
	assert_true(press->track_count <= MONITOR_TRACK_MAX);
	int64_t step = press->track[1].time_ns - press->track[0].time_ns;
	for (size_t i = 1; i < press->track_count; i++)
		assert_int_equal(press->track[i].time_ns - press->track[i - 1].time_ns, step);
	assert_true(press->track[press->track_count - 1].time_ns >=
		    (3 * MONITOR_TRACK_MAX - 5) * CLOCKS_NS_PER_S);
}

static void results_newest_first_and_each_once(void **context)
{
	struct monitor_press *press = &state.presses[0];
	const struct monitor_result old = {.run = 9, .verdict = VERDICT_UNDETERMINED};
	(void)context;
	feed(LINES_RUN_OPEN);
	feed(LINES_RUN_CLOSED("12", "out_of_band"));
	assert_int_equal(news.kind, MONITOR_NEWS_RUN_CLOSED);
	assert_int_equal(press->status.run, 0);
	monitor_state_add_result(&state, 0, &old);
	feed(LINES_RUN_CLOSED("13", "in_band"));
	feed(LINES_RUN_CLOSED("13", "in_band"));
	assert_int_equal(press->result_count, 3);
	assert_int_equal(press->results[0].run, 13);
	assert_int_equal(press->results[1].run, 12);
	assert_int_equal(press->results[1].verdict, VERDICT_OUT_OF_BAND);
	check_near(press->results[1].maximum_newton, 247300, 0);
	assert_int_equal(press->results[2].run, 9);
	feed("{\"press\":\"north\",\"fracture\":{\"run\":12,\"type\":3}}");
	assert_int_equal(news.kind, MONITOR_NEWS_FRACTURE);
	assert_int_equal(press->results[1].fracture, 3);
	for (int64_t run = 20; run < 40; run++) {
		const struct monitor_result more = {.run = run};
		monitor_state_add_result(&state, 0, &more);
	}
	assert_int_equal(press->result_count, MONITOR_RESULTS_MAX);
	assert_int_equal(press->results[0].run, 39);
}

static void cells_seats_and_the_disk(void **context)
{
	struct monitor_press *press = &state.presses[0];
	(void)context;
	feed("{\"press\":\"north\",\"cell\":{\"cell\":\"c1\",\"device\":\"/dev/ttyUSB0\","
	     "\"state\":\"absent\",\"text\":\"unplugged\"}}");
	assert_int_equal(news.kind, MONITOR_NEWS_CELL);
	assert_int_equal(press->status.cells[0].state, CELL_ABSENT);
	feed("{\"press\":\"north\",\"seated\":null}");
	assert_int_equal(news.kind, MONITOR_NEWS_SEATED);
	assert_null(monitor_press_specimen(press));
	feed("{\"durable\":false}");
	assert_int_equal(news.kind, MONITOR_NEWS_DURABLE);
	assert_false(state.durable);
}

static void an_old_load_is_not_shown_as_live(void **context)
{
	(void)context;
	feed(LINES_TOO_FAST);
	assert_true(state.presses[0].has_live);
	monitor_state_away(&state, "it hung up");
	assert_false(state.connected);
	assert_false(state.presses[0].has_live);
	monitor_state_connected(&state);
	feed(LINES_STATUS);
	assert_int_equal(state.press_count, 2);
}

static void foreign_lines_do_no_harm(void **context)
{
	static const char *const lines[] = {"", "nonsense", "[]", "{}", "{\"live\":{}}",
		"{\"press\":\"north\",\"live\":7}", "{\"press\":\"west\",\"seated\":null}",
		"{\"ok\":true,\"presses\":7}", "{\"ok\":true,\"presses\":[7,{}]}",
		"{\"press\":\"north\",\"run_closed\":7}",
		"{\"press\":\"north\",\"run_closed\":{}}"};
	(void)context;
	for (size_t i = 0; i < sizeof(lines) / sizeof(*lines); i++)
		feed(lines[i]);
	assert_int_equal(state.press_count, 2);
	feed("{\"ok\":false,\"error\":\"no such press\"}");
	assert_int_equal(news.kind, MONITOR_NEWS_REFUSED);
	assert_string_equal(news.text.text, "no such press");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(status_names_the_presses, set_up),
		cmocka_unit_test_setup(wanted_press, set_up),
		cmocka_unit_test_setup(band_before_and_in_a_run, set_up),
		cmocka_unit_test_setup(news_only_when_something_changed, set_up),
		cmocka_unit_test_setup(next_run_begins_a_new_curve, set_up),
		cmocka_unit_test_setup(a_long_run_is_thinned, set_up),
		cmocka_unit_test_setup(results_newest_first_and_each_once, set_up),
		cmocka_unit_test_setup(cells_seats_and_the_disk, set_up),
		cmocka_unit_test_setup(an_old_load_is_not_shown_as_live, set_up),
		cmocka_unit_test_setup(foreign_lines_do_no_harm, set_up),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
