/* SPDX-License-Identifier: MIT
 *
 * What a cell, its cable and its machine can do wrong while specimens break, over pseudo terminals:
 * the good readings are used, the bad ones named, no press suffers for another, and each run ends
 * true or says what is missing.
 */
#include "lab.h"

#include "unit/check.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static struct harness_process *presses[LAB_PRESSES_MAX];

static bool has_event(const json_t *run, const char *kind)
{
	const json_t *event = NULL;
	size_t index;
	json_array_foreach(json_object_get(run, "events"), index, event)
	{
		if (strcmp(json_string_value(json_object_get(event, "kind")), kind) == 0)
			return true;
	}
	return false;
}

/* The longest time without readings that the run tells of, in s: a busy machine may deliver the
 * first ones after a gap late, and then says that instead. */
static double longest_hole(const json_t *run)
{
	const json_t *event = NULL;
	double longest = 0;
	size_t index;
	json_array_foreach(json_object_get(run, "events"), index, event)
	{
		const char *kind = json_string_value(json_object_get(event, "kind"));
		const char *text = json_string_value(json_object_get(event, "text"));
		const char *place = strstr(text, strcmp(kind, "gap") == 0 ? " for " : " after ");
		bool hole = strcmp(kind, "gap") == 0 || strcmp(kind, "late") == 0;
		if (hole && place != NULL)
			longest = fmax(longest, strtod(strpbrk(place, "0123456789"), NULL));
	}
	return longest;
}

static double number_at(const json_t *object, const char *name)
{
	return json_number_value(json_object_get(object, name));
}

/* The first run of the press. */
static json_t *run_of(struct lab *lab, size_t press)
{
	json_t *runs = lab_json(lab, "runs", "--press", lab->press[press], NULL);
	json_t *run = json_incref(json_array_get(runs, 0));
	json_decref(runs);
	return run;
}

/* Waits for the end of a press's curve; the highest of its good lines, in newtons. */
static double highest_newton(struct harness_process *press)
{
	double kilonewton = 0;
	const char *line = harness_expect(press, "ends, highest line", NULL);
	assert_int_equal(sscanf(strstr(line, "line "), "line %lf kN", &kilonewton), 1);
	return 1000 * kilonewton;
}

static void expect_lines(struct harness_process *daemon, size_t count, const char *text)
{
	for (size_t i = 0; i < count; i++)
		harness_expect(daemon, text, NULL);
}

/* ---- faults of the line, one press each, all at once */

struct line_case {
	const char *fault, *curve;
	const char *said;        /* by the daemon of this cell; NULL: nothing */
	const char *event;       /* on the run; NULL: none of those that tell of bad readings */
	double tolerance_newton; /* of the maximum: the top may be among the bad lines */
};

static const struct line_case line_cases[] = {
	{"drop=0", "good", NULL, NULL, 0}, /* nothing is wrong with this one */
	{"garbage=0.05", "good", "more times, beside", NULL, 60},
	{"half=0.05", "good", "more times, beside", NULL, 60},
	{"nul=0.05", "good", "more times, beside", NULL, 60},
	{"baud,at=2,for=0.4", "good", "thrown away", "gap", 0},
	{"endless,at=2,for=1", "good", "no end of line", "gap", 0},
	{"unit,at=2,for=0.4", "good", "not used: the cell sends lbf", "gap", 0},
	{"stuck,at=2.5,for=0.6", "steady", NULL, "stuck", 0},
	{"reboot,at=2,for=0.5", "good", "thrown away", "gap", 0},
	{"burst,lines=2", "good", NULL, NULL, 0},
	{"bytes", "good", NULL, NULL, 0},
	{"flood,at=2,for=0.3", "good", NULL, NULL, 0},
};

enum { LINE_CASES = sizeof line_cases / sizeof *line_cases };

/* One line of the daemon about the cell that holds the text. */
static bool said_of_cell(struct harness_process *daemon, size_t press, const char *text)
{
	char cell[32];
	snprintf(cell, sizeof cell, "cell cell-%zu: ", press + 1);
	for (const char *line = harness_text(daemon); line != NULL && *line != '\0';) {
		size_t length = strcspn(line, "\n");
		char *copy = strndup(line, length);
		bool found = strstr(copy, cell) != NULL && strstr(copy, text) != NULL;
		free(copy);
		if (found)
			return true;
		line += length + (line[length] == '\n');
	}
	return false;
}

static void check_line_case(
	struct lab *lab, struct harness_process *daemon, size_t press, double highest)
{
	static const char *const telling[] = {"gap", "stuck", "spike", "shock", "drop", "stall"};
	const struct line_case *fault = &line_cases[press];
	json_t *run = run_of(lab, press);
	const char *end = json_string_value(json_object_get(run, "end"));
	print_message("%s: %s, %g N\n", fault->fault, end, number_at(run, "maximum_load_n"));
	assert_string_equal(end, "broken");
	check_near(number_at(run, "maximum_load_n"), highest, fault->tolerance_newton + 1e-6);
	if (fault->said != NULL && !said_of_cell(daemon, press, fault->said))
		fail_msg("%s: '%s' was not said of its cell", fault->fault, fault->said);
	if (fault->said == NULL && said_of_cell(daemon, press, "thrown away"))
		fail_msg("%s: good lines were refused", fault->fault);
	if (fault->event != NULL && strcmp(fault->event, "gap") == 0) {
		if (longest_hole(run) < 0.3)
			fail_msg("%s: no gap on the run", fault->fault);
	} else if (fault->event != NULL && !has_event(run, fault->event))
		fail_msg("%s: no %s on the run", fault->fault, fault->event);
	/* A busy machine makes gaps of its own. */
	for (size_t i = 1; i < sizeof telling / sizeof *telling; i++) {
		bool own = fault->event != NULL && strcmp(fault->event, telling[i]) == 0;
		if (!own && has_event(run, telling[i]))
			fail_msg("%s: a %s on the run", fault->fault, telling[i]);
	}
	json_decref(run);
}

static void test_faults_of_the_line(void **state)
{
	double highest[LINE_CASES];
	struct lab lab;
	(void)state;
	lab_open(&lab, LINE_CASES);
	for (size_t i = 0; i < LINE_CASES; i++)
		presses[i] = lab_start_press(&lab, i, "--curve", line_cases[i].curve,
			"--strength-mpa", "3", "--speed", "2", "--hz", "100", "--noise-n", "5",
			"--fault", line_cases[i].fault, NULL);
	struct harness_process *daemon = lab_start_daemon(&lab);
	expect_lines(daemon, LINE_CASES, ": ready");
	for (size_t i = 0; i < LINE_CASES; i++)
		harness_tell(presses[i], "go");
	for (size_t i = 0; i < LINE_CASES; i++)
		highest[i] = highest_newton(presses[i]);
	expect_lines(daemon, LINE_CASES, " closed, ");
	for (size_t i = 0; i < LINE_CASES; i++)
		check_line_case(&lab, daemon, i, highest[i]);
	lab_must(&lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	lab_close(&lab);
}

/* ---- the cable and the port */

/* Plays one curve; the run must be broken at its highest line, with or without a gap. */
static void break_one(struct lab *lab, struct harness_process *daemon, const char *number, bool gap)
{
	char run_closed[32];
	snprintf(run_closed, sizeof run_closed, "run %s closed", number);
	harness_tell(presses[0], "go");
	double highest = highest_newton(presses[0]);
	harness_expect(daemon, run_closed, "broken", NULL);
	json_t *run = lab_json(lab, "show", number, NULL);
	check_near(number_at(run, "maximum_load_n"), highest, 1e-6);
	if (gap)
		assert_true(has_event(run, "gap"));
	json_decref(run);
}

static void pull_and_plug(struct harness_process *daemon)
{
	char after[64];
	harness_tell(presses[0], "unplug");
	harness_expect(daemon, "unplugged", NULL);
	harness_tell(presses[0], "mend");
	const char *line = harness_expect(presses[0], " -> ", NULL);
	snprintf(after, sizeof after, "%s is open", strstr(line, " -> ") + 4);
	harness_expect(daemon, after, NULL);
	harness_expect(daemon, ": ready", NULL);
}

/* Before a run, in it, and after it; each time it comes back under another name behind its link. */
static void test_cable(void **state)
{
	struct lab *lab = *state;
	presses[0] = lab_start_press(lab, 0, "--curve", "good,good", "--strength-mpa", "3",
		"--speed", "3", "--hz", "100", "--noise-n", "5", "--fault", "unplug,at=1,for=0.3",
		NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, ": ready", NULL);
	pull_and_plug(daemon);
	break_one(lab, daemon, "1", true);
	pull_and_plug(daemon);
	break_one(lab, daemon, "2", true);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

static void test_port_held_by_another_program(void **state)
{
	struct lab *lab = *state;
	presses[0] = lab_start_press(lab, 0, "--curve", "good", "--strength-mpa", "2", "--speed",
		"4", "--hz", "100", NULL);
	harness_tell(presses[0], "lock");
	harness_expect(presses[0], "lock begins", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	harness_expect(daemon, "cell-1", "in use by another program", "end it first", NULL);
	harness_tell(presses[0], "mend");
	harness_expect(daemon, ": ready", NULL);
	/* what a terminal that goes away sends must not end it */
	kill(harness_pid(daemon), SIGHUP);
	harness_expect(daemon, "SIGHUP is passed over", NULL);
	break_one(lab, daemon, "1", false);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* ---- many ports */

enum { MANY_PRESSES = 4, MANY_CELLS = 8 };

static void add_cells(struct lab *lab, size_t press)
{
	for (size_t i = 1; i < MANY_CELLS; i++)
		lab_write(lab->config,
			"[cell cell-%zu-%zu]\npress = %s\ndevice = %s-%zu\nbaud = 921600\n",
			press + 1, i, lab->press[press], lab->device[press], i);
}

static void start_many_cells(struct lab *lab, size_t press)
{
	char links[MANY_CELLS][LAB_PATH_SIZE];
	for (size_t i = 1; i < MANY_CELLS; i++)
		snprintf(links[i], LAB_PATH_SIZE, "%.100s-%zu", lab->device[press], i);
	presses[press] = lab_start_press(lab, press, "--curve", "good", "--strength-mpa", "3",
		"--speed", "2", "--noise-n", "0", "--link", links[1], "--link", links[2], "--link",
		links[3], "--link", links[4], "--link", links[5], "--link", links[6], "--link",
		links[7], NULL);
}

static void test_thirty_two_ports(void **state)
{
	struct lab lab;
	(void)state;
	lab_open(&lab, MANY_PRESSES);
	for (size_t press = 0; press < MANY_PRESSES; press++) {
		add_cells(&lab, press);
		start_many_cells(&lab, press);
	}
	struct harness_process *daemon = lab_start_daemon(&lab);
	expect_lines(daemon, (size_t)MANY_PRESSES * MANY_CELLS, ": ready");
	for (size_t press = 0; press < MANY_PRESSES; press++)
		harness_tell(presses[press], "go");
	expect_lines(daemon, MANY_PRESSES, " closed, broken");
	for (size_t press = 0; press < MANY_PRESSES; press++) {
		json_t *run = run_of(&lab, press);
		/* each cell's line is rounded to 10 N */
		check_near(number_at(run, "maximum_load_n"),
			MANY_CELLS * highest_newton(presses[press]), MANY_CELLS * 10);
		json_decref(run);
	}
	lab_must(&lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
	lab_close(&lab);
}

/* ---- the machine */

/* The daemon stands still for a while in mid-run: what came meanwhile is read in one go. */
static void test_stalled_daemon(void **state)
{
	struct lab *lab = *state;
	presses[0] = lab_start_press(lab, 0, "--curve", "good", "--strength-mpa", "3", "--speed",
		"1.5", "--hz", "100", "--noise-n", "5", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, ": ready", NULL);
	harness_tell(presses[0], "go");
	harness_expect(monitor, "first half", NULL);
	harness_sees(presses[0], 2, "the rate is known by then");
	kill(harness_pid(daemon), SIGSTOP);
	harness_sees(presses[0], 1, "it stands still for a second");
	kill(harness_pid(daemon), SIGCONT);
	double highest = highest_newton(presses[0]);
	harness_expect(daemon, "run 1 closed, broken", NULL);
	json_t *run = lab_json(lab, "show", "1", NULL);
	check_near(number_at(run, "maximum_load_n"), highest, 1e-6);
	assert_true(has_event(run, "late"));
	assert_false(has_event(run, "shock"));
	assert_false(has_event(run, "stall"));
	assert_false(has_event(run, "spike"));
	json_decref(run);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* The wall clock is set back by an hour in mid-run, for this daemon alone (clock_shim.c). It is for
 * people: the curve, the order of the runs and the audit do not know it. */
static void test_clock_set_back(void **state)
{
	struct lab *lab = *state;
	char back[LAB_PATH_SIZE];
	snprintf(back, sizeof back, "%.60s/back", lab->folder);
	setenv("RAMPLOG_TEST_CLOCK_BACK", back, 1);
	setenv("RAMPLOGD", getenv("RAMPLOGD_CLOCK"), 1);
	presses[0] = lab_start_press(lab, 0, "--curve", "good,good", "--strength-mpa", "3",
		"--speed", "3", "--hz", "100", "--noise-n", "5", NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, ": ready", NULL);
	harness_tell(presses[0], "go");
	harness_expect(monitor, "first half", NULL);
	lab_write(back, "an hour\n");
	double highest = highest_newton(presses[0]);
	harness_expect(daemon, "run 1 closed, broken", NULL);
	break_one(lab, daemon, "2", false);
	json_t *first = lab_json(lab, "show", "1", NULL),
	       *second = lab_json(lab, "show", "2", NULL);
	check_near(number_at(first, "maximum_load_n"), highest, 1e-6);
	assert_true(number_at(first, "maximum_load_time_s") < 60);
	/* The second began after the first and an hour before it. */
	assert_true(strcmp(json_string_value(json_object_get(second, "started")),
			    json_string_value(json_object_get(first, "started"))) < 0);
	assert_false(has_event(first, "shock") || has_event(first, "drop"));
	json_decref(first);
	json_decref(second);
	struct harness_output shown = lab_run(lab, "show", "1", NULL);
	assert_non_null(strstr(shown.text, "SET BACK by 3600 s"));
	harness_output_finish(&shown);
	shown = lab_run(lab, "show", "2", NULL);
	assert_null(strstr(shown.text, "SET "));
	harness_output_finish(&shown);
	lab_must(lab, 0, "audit", NULL);
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

/* A verification runs out while nothing happens: nobody asks, no cell sends, none comes or goes.
 * The hourly look says so, to the log and to who watches. */
static void test_dates_fall_due_by_themselves(void **state)
{
	struct lab *lab = *state;
	char ahead[LAB_PATH_SIZE], date[32];
	time_t now = time(NULL) - 24 * 3600;
	snprintf(ahead, sizeof ahead, "%.60s/ahead", lab->folder);
	strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%SZ", gmtime(&now));
	setenv("RAMPLOG_TEST_CLOCK_AHEAD", ahead, 1);
	setenv("RAMPLOG_TEST_HOUR_MS", "200", 1);
	setenv("RAMPLOGD", getenv("RAMPLOGD_CLOCK"), 1);
	presses[0] = lab_start_press(lab, 0, NULL);
	struct harness_process *daemon = lab_start_daemon(lab);
	struct harness_process *monitor = lab_start_monitor(lab);
	harness_expect(daemon, ": ready", NULL);
	lab_must(lab, 0, "verification", "press-1", "--record", "--date", date, "--reference",
		"load ring 7", "--increment", "0.1kN", "--range", "200kN,2000kN", "--error",
		"0.4,-0.2", NULL);
	lab_must(lab, 0, "care", "press-1", "--done", NULL);
	/* A press that stands still is looked at as well: none does now. */
	harness_stop(presses[0], SIGKILL);
	harness_expect(daemon, "unplugged", NULL);
	lab_write(ahead, "400 days\n");
	harness_expect(daemon, "press press-1: press not verified: due since", NULL);
	harness_expect(monitor, "press-1", "due since", NULL);
	harness_expect(daemon, "press press-1: care of ball and socket is due since", NULL);
	unsetenv("RAMPLOG_TEST_HOUR_MS");
	assert_int_equal(harness_stop(daemon, SIGTERM), 0);
}

#define IN_LAB(test) cmocka_unit_test_setup_teardown(test, lab_set_up, lab_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_faults_of_the_line),
		IN_LAB(test_cable),
		IN_LAB(test_port_held_by_another_program),
		cmocka_unit_test(test_thirty_two_ports),
		IN_LAB(test_stalled_daemon),
		IN_LAB(test_clock_set_back),
		IN_LAB(test_dates_fall_due_by_themselves),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
