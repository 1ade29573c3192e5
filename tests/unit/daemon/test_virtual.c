/* SPDX-License-Identifier: MIT
 *
 * The daemon's presses in virtual time, fed from the simulator's wires: what a port that others
 * hold, very many ports at once, a wall clock that is set and a loop that stands still do to runs.
 * Without a device and without a clock, so it is the same each time, down to the byte.
 */
#include "dialect.h"
#include "random.h"
#include "unit/check.h"
#include "virtual.h"
#include "wire.h"

#include "base/clocks.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const int64_t LINE_NS = 20 * CLOCKS_NS_PER_MS;
static const int64_t BYTE_NS = 10 * CLOCKS_NS_PER_S / 115200;
static const int64_t HOUR_NS = 3600 * CLOCKS_NS_PER_S;
static const struct faults_plan no_faults;
static const struct dialect_setup kilonewton = {.unit = UNIT_KILONEWTON, .decimals = 3};

/* Nothing but what is named may be on the run. */
static void check_events(const struct run_record *record, enum event_kind only)
{
	for (size_t i = 0; i < record->outcome.judgement.event_count; i++) {
		const struct event *event = &record->outcome.judgement.events[i];

		if (event->kind != only)
			fail_msg("%s: %s", event_kind_text(event->kind), event->text);
	}
}

/* ---- one press with one cell */

static const char one_press[] =
	"[press north]\ncapacity = 2000 kN\n[cell load]\npress = north\ndevice = port-0\n"
	"baud = 115200\n";

struct single {
	struct wire wire;
	struct random random;
	double load_newton, highest_newton;
};

static void single_init(struct single *single)
{
	single->load_newton = single->highest_newton = 0;
	random_init(&single->random, 1);
	wire_init(&single->wire, dialect_find("plain"), &kilonewton, 50, &no_faults);
}

static void send_line(struct single *single)
{
	static char out[WIRE_OUT_MAX];

	faults_step(&single->wire.faults, &single->random, loop_now_ns(), -1);
	size_t length = wire_write(&single->wire, &single->random, single->load_newton, out);
	virtual_send(0, out, length);
}

/* A line every 20 ms, each so much higher than the one before. */
static void play(struct single *single, int lines, double step_newton)
{
	for (int i = 0; i < lines; i++) {
		single->load_newton += step_newton;
		send_line(single);
		loop_run_to(loop_now_ns() + LINE_NS);
	}
}

/* From 0 to 200 kN and broken; what happens in between is up to the caller. */
static void load_up(struct single *single)
{
	play(single, 100, 0);
	play(single, 100, 500);
}

static void break_it(struct single *single)
{
	play(single, 100, 500);
	single->highest_newton = single->load_newton;
	single->load_newton = 0;
	play(single, 300, 0);
}

static void check_cell(const struct virtual *all, enum cell_state state, const char *text)
{
	struct status_cell status;

	virtual_cell(all, 0, 0, &status);
	if (status.state != state || !strstr(status.text, text))
		fail_msg("%s: %s", status_cell_text(status.state), status.text);
}

/* ---- a port that somebody else holds */

static void test_locked_before_the_start(void **state)
{
	struct virtual *all = *state;
	struct single single;

	single_init(&single);
	virtual_start(all, one_press, 1);
	assert_true(virtual_lock(0));
	virtual_open(all);
	loop_run_to(loop_now_ns() + 60 * CLOCKS_NS_PER_S);
	assert_false(virtual_is_open(0));
	check_cell(all, CELL_ABSENT, "in use by another program");
	check_cell(all, CELL_ABSENT, "end it first");
	virtual_unlock(0);
	loop_run_to(loop_now_ns() + 5 * CLOCKS_NS_PER_S);
	check_cell(all, CELL_SILENT, "");
	/* And now nobody else gets it. */
	assert_false(virtual_lock(0));
	load_up(&single);
	check_cell(all, CELL_READY, "");
	break_it(&single);
	virtual_check_runs(all, 1);
	virtual_stop(all);
}

/* The cable is pulled in mid-run and put back at once, but another program was faster. */
static void grab(struct virtual *all, struct single *single, int64_t for_ns)
{
	int64_t begun_ns = loop_now_ns();

	virtual_unplug(0);
	virtual_plug(0);
	assert_true(virtual_lock(0));
	while (loop_now_ns() - begun_ns < for_ns)
		play(single, 1, 500);
	check_cell(all, CELL_ABSENT, "in use by another program");
	virtual_unlock(0);
}

static void test_locked_in_a_run(void **state)
{
	struct virtual *all = *state;
	struct single single;

	single_init(&single);
	virtual_start(all, one_press, 1);
	virtual_open(all);
	for (int64_t seconds = 1; seconds <= 9; seconds++) {
		load_up(&single);
		grab(all, &single, seconds * CLOCKS_NS_PER_S);
		play(&single, 100, 500);
		break_it(&single);
		const struct run_record *record = virtual_run(all, seconds);
		const struct judgement *judgement = &record->outcome.judgement;
		print_message("%d s: %s at %.1f kN\n", (int)seconds, end_text(judgement->end),
			(double)judgement->maximum_un * 1e-9);
		assert_int_equal(judgement->end, END_BROKEN);
		check_near((double)judgement->maximum_un * 1e-6, single.highest_newton, 1e-6);
		assert_true(virtual_has_event(record, EVENT_GAP));
		check_events(record, EVENT_GAP);
	}
	virtual_check_runs(all, 9);
	virtual_stop(all);
}

/* ---- thirty-two ports at once */

enum { PRESSES = 4, CELLS = 8, PORTS = PRESSES * CELLS, MANY_LINES = 700 };

struct sent {
	int64_t time_ns; /* when its last byte was on the way */
	int64_t mantissa;
};

struct many {
	struct wire wires[PORTS];
	struct random random;
	size_t sent_count[PORTS];
	struct sent sent[PORTS][MANY_LINES];
	/* of the run that is looked at */
	size_t press;
	size_t stored_count[CELLS], next[CELLS];
};

/* Which cell it was, and how far up, can be told from the load alone. Unloaded each reads its own
 * number of newtons. */
static double many_load(size_t port, int line)
{
	double up_newton = line > 100 && line < 500 ? 200.0 * (line - 100) : 0;

	return up_newton + (double)port;
}

static void many_config(char *text, size_t size)
{
	size_t length = 0;

	for (int press = 0; press < PRESSES; press++)
		length += (size_t)snprintf(text + length, size - length,
			"[press press-%d]\ncapacity = 2000 kN\n", press);
	for (int port = 0; port < PORTS; port++)
		length += (size_t)snprintf(text + length, size - length,
			"[cell cell-%d]\npress = press-%d\ndevice = port-%d\nbaud = 115200\n", port,
			port / CELLS, port);
	assert_true(length < size);
}

/* In two parts, now and then, with a turn of the loop between them. A line's time is that of its
 * CR: the LF behind it has taken the time of a byte, where the same read brought it. */
static void many_send(struct many *many, size_t port, int line)
{
	static char out[WIRE_OUT_MAX];
	struct wire *wire = &many->wires[port];

	faults_step(&wire->faults, &many->random, loop_now_ns(), -1);
	size_t length = wire_write(wire, &many->random, many_load(port, line), out);
	size_t first = (size_t)(random_unit(&many->random) * 4 * (double)length);
	int64_t time_ns = loop_now_ns();
	if (first < length) {
		virtual_send(port, out, first);
		loop_run_to(time_ns + CLOCKS_NS_PER_MS / 8);
	} else {
		first = 0;
	}
	if (first < length - 1)
		time_ns = loop_now_ns() - BYTE_NS;
	virtual_send(port, out + first, length - first);
	many->sent[port][many->sent_count[port]++] =
		(struct sent){time_ns, (int64_t)many_load(port, line)};
}

/* All lines of one round come within the round's time, and in no order. */
static void many_round(struct many *many, int line)
{
	int64_t end_ns = loop_now_ns() + LINE_NS;
	size_t order[PORTS];

	for (size_t i = 0; i < PORTS; i++) {
		size_t other = (size_t)(random_unit(&many->random) * (double)(i + 1));

		order[i] = order[other];
		order[other] = i;
	}
	for (size_t i = 0; i < PORTS; i++) {
		many_send(many, order[i], line);
		loop_run_to(loop_now_ns() + CLOCKS_NS_PER_MS / 4);
	}
	loop_run_to(end_ns);
}

/* Each is the one that was sent next by that cell, at its time. */
static bool take_stored(void *context, size_t cell, const struct reading *reading)
{
	struct many *many = context;
	size_t port = many->press * CELLS + cell;
	const struct sent *sent = many->sent[port];
	size_t *next = &many->next[cell];

	while (many->stored_count[cell] == 0 && sent[*next].time_ns < reading->time.ns)
		++*next;
	assert_true(*next < many->sent_count[port]);
	assert_int_equal(reading->time.ns, sent[*next].time_ns);
	assert_int_equal(reading->value.mantissa, sent[*next].mantissa);
	assert_int_equal(reading->value.exponent, -3);
	assert_int_equal(reading->status, 0);
	++*next;
	many->stored_count[cell]++;
	return true;
}

/* Of which press a run was. */
static size_t press_of(const struct run_record *record)
{
	return (size_t)(strrchr(record->row.press, '-')[1] - '0');
}

static void check_many_run(struct virtual *all, struct many *many, int64_t run)
{
	const struct run_record *record = virtual_run(all, run);
	const struct judgement *judgement = &record->outcome.judgement;
	double highest_newton = 0;

	many->press = press_of(record);
	memset(many->stored_count, 0, sizeof many->stored_count);
	memset(many->next, 0, sizeof many->next);
	assert_int_equal(store_readings_each(all->store, run, take_stored, many), STORE_OK);
	for (size_t cell = 0; cell < CELLS; cell++) {
		/* from before the contact until well behind the break */
		assert_true(many->stored_count[cell] > 420 && many->next[cell] > 500);
		highest_newton += many_load(many->press * CELLS + cell, 499);
	}
	assert_int_equal(judgement->end, END_BROKEN);
	/* The cells are added at common instants: the top of one is the slope of another, whose
	 * lines come up to a round before or after. */
	check_near((double)judgement->maximum_un * 1e-6, highest_newton, 2 * CELLS * 200);
	assert_int_equal(judgement->event_count, 0);
}

static void check_many_cells(const struct virtual *all, const struct many *many)
{
	struct status_cell status;

	for (size_t port = 0; port < PORTS; port++) {
		virtual_cell(all, port / CELLS, port % CELLS, &status);
		assert_int_equal(status.state, CELL_READY);
		/* The first may have begun before the port was open, for all that is known. */
		assert_int_equal(status.reading_count, many->sent_count[port] - 1);
		assert_int_equal(status.error_count, 0);
	}
}

/* What watchers heard of it, for the caller to free. */
static char *play_many(struct virtual *all, uint64_t seed)
{
	static struct many many;
	static char config[8 * 1024];

	many = (struct many){.press = 0};
	random_init(&many.random, seed);
	for (size_t i = 0; i < PORTS; i++)
		wire_init(&many.wires[i], dialect_find("plain"), &kilonewton, 50, &no_faults);
	many_config(config, sizeof config);
	virtual_start(all, config, PORTS);
	virtual_open(all);
	for (int line = 0; line < MANY_LINES; line++)
		many_round(&many, line);
	check_many_cells(all, &many);
	virtual_check_runs(all, PRESSES);
	for (int64_t run = 1; run <= PRESSES; run++)
		check_many_run(all, &many, run);
	char *heard = strdup(virtual_heard());
	virtual_stop(all);
	return heard;
}

static void test_thirty_two_ports(void **state)
{
	char *first = play_many(*state, 1);

	/* The same again is the same to the byte; other random numbers are not. */
	assert_int_equal(virtual_teardown(state) + virtual_setup(state), 0);
	char *again = play_many(*state, 1);
	assert_string_equal(first, again);
	assert_int_equal(virtual_teardown(state) + virtual_setup(state), 0);
	char *other = play_many(*state, 2);
	assert_string_not_equal(first, other);
	free(first);
	free(again);
	free(other);
}

/* ---- the clocks */

struct kept {
	size_t count;
	/* without padding, so that bytes can be compared */
	struct {
		int64_t time_ns, mantissa, exponent;
	} readings[2000];
};

static bool keep(void *context, size_t cell, const struct reading *reading)
{
	struct kept *kept = context;

	assert_int_equal(cell, 0);
	assert_true(kept->count < sizeof kept->readings / sizeof kept->readings[0]);
	kept->readings[kept->count].time_ns = reading->time.ns;
	kept->readings[kept->count].mantissa = reading->value.mantissa;
	kept->readings[kept->count++].exponent = reading->value.exponent;
	return true;
}

/* Verified from 2025-02-01, 12:30 on: due half an hour after the presses begin. */
static void verify(struct virtual *all)
{
	struct verification verification = {.press = "north",
		.reference = "load ring 7",
		.verified = {INT64_C(1738413000) * CLOCKS_NS_PER_S},
		.capacity_un = INT64_C(2000000) * UNITS_UN_PER_N,
		.increment_un = 1000 * UNITS_UN_PER_N,
		.resolution_un = 1000 * UNITS_UN_PER_N,
		.low_un = INT64_C(200000) * UNITS_UN_PER_N,
		.high_un = INT64_C(2000000) * UNITS_UN_PER_N,
		.passed = true};
	struct actor actor = {.name = "test"};

	assert_int_equal(store_begin(all->store), STORE_OK);
	if (store_verification_add(all->store, &verification, &actor, virtual_now()) != STORE_OK)
		fail_msg("%s", store_error(all->store));
	assert_int_equal(store_commit(all->store), STORE_OK);
}

/* Three runs; by_ns: how the wall clock is set in the middle of the first. */
static void play_clock(struct virtual *all, int64_t by_ns, struct kept *kept)
{
	struct single single;

	single_init(&single);
	virtual_start(all, one_press, 1);
	verify(all);
	virtual_open(all);
	load_up(&single);
	loop_set_wall(by_ns);
	break_it(&single);
	load_up(&single);
	break_it(&single);
	virtual_check_runs(all, 2);
	kept->count = 0;
	for (int64_t run = 1; run <= 2; run++)
		assert_int_equal(store_readings_each(all->store, run, keep, kept), STORE_OK);
}

static int64_t started_ns(struct virtual *all, int64_t run)
{
	return virtual_run(all, run)->start.started.ns;
}

static void check_first(const struct run_record *record, const struct run_record *straight)
{
	const struct judgement *one = &record->outcome.judgement,
			       *other = &straight->outcome.judgement;

	assert_int_equal(one->end, END_BROKEN);
	assert_int_equal(one->maximum_un, other->maximum_un);
	assert_int_equal(one->maximum_at.ns, other->maximum_at.ns);
	assert_int_equal(one->sample_count, other->sample_count);
	assert_int_equal(one->event_count, 0);
	assert_int_equal(record->start.origin.ns, straight->start.origin.ns);
	assert_int_equal(record->start.started.ns, straight->start.started.ns);
}

/* Readings, their times and their order, the judgement and the run's own times do not know of it;
 * what is for people follows the wall clock. */
static void check_set(void **state, int64_t by_ns, enum standing_kind second)
{
	static struct kept straight, set;
	static struct run_record first;
	struct virtual *all = *state;

	play_clock(all, 0, &straight);
	first = *virtual_run(all, 1);
	int64_t between_ns = started_ns(all, 2) - started_ns(all, 1);
	virtual_stop(all);
	assert_int_equal(virtual_teardown(state) + virtual_setup(state), 0);
	play_clock(all, by_ns, &set);
	assert_int_equal(straight.count, set.count);
	assert_memory_equal(&straight, &set, sizeof set);
	check_first(virtual_run(all, 1), &first);
	assert_int_equal(virtual_run(all, 1)->ended.ns, first.ended.ns + by_ns);
	assert_int_equal(virtual_run(all, 1)->start.standing.kind, STANDING_VALID);
	assert_int_equal(started_ns(all, 2) - started_ns(all, 1), between_ns + by_ns);
	assert_int_equal(virtual_run(all, 2)->start.standing.kind, second);
	virtual_stop(all);
}

static void test_clock_set_back(void **state)
{
	check_set(state, -HOUR_NS, STANDING_VALID);
}

static void test_clock_set_forward(void **state)
{
	check_set(state, HOUR_NS, STANDING_OVERDUE);
}

/* For a second nothing is read, and then all of it at once: its times are not known, and the run
 * says so; nothing is made of it that was not there. */
static void test_stalled_loop(void **state)
{
	struct virtual *all = *state;
	struct single single;

	single_init(&single);
	virtual_start(all, one_press, 1);
	virtual_open(all);
	load_up(&single);
	for (int i = 0; i < 50; i++) {
		single.load_newton += 500;
		send_line(&single);
		loop_stall(loop_now_ns() + LINE_NS);
	}
	play(&single, 100, 500);
	break_it(&single);
	const struct run_record *record = virtual_run(all, 1);
	assert_true(virtual_has_event(record, EVENT_LATE));
	check_events(record, EVENT_LATE);
	/* Nor is anybody told of a cell that was there all the time. */
	assert_null(strstr(virtual_heard(), "nothing comes"));
	check_near(
		(double)record->outcome.judgement.maximum_un * 1e-6, single.highest_newton, 1e-6);
	virtual_check_runs(all, 1);
	virtual_stop(all);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		VIRTUAL_TEST(test_locked_before_the_start),
		VIRTUAL_TEST(test_locked_in_a_run),
		VIRTUAL_TEST(test_thirty_two_ports),
		VIRTUAL_TEST(test_clock_set_back),
		VIRTUAL_TEST(test_clock_set_forward),
		VIRTUAL_TEST(test_stalled_loop),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
