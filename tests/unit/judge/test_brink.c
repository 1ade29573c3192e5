/* SPDX-License-Identifier: MIT
 *
 * The last readings before an explosive failure: what is denied, and what must stay the maximum. A
 * press that hunts at 1.7 Hz by 2 % of the load, read ten times a second, so that two readings
 * differ by more than a small spike does.
 */
#include "judge/brink.h"
#include "unit/check.h"
#include "unit/random.h"

enum { COUNT = 200, INTERVAL_NS = 100000000 };

static const double swing_n = 2000;

struct record {
	double loads_n[COUNT + 8];
	size_t count;
	int64_t since_ns; /* undisturbed since then */
};

/* Up to 100 kN; phase: where in its turn the swing ends. */
static void draw(struct record *record, double phase)
{
	struct random random = {3};
	*record = (struct record){.count = COUNT};
	for (size_t i = 0; i < COUNT; i++)
		record->loads_n[i] = 500 * (double)(i + 1) + 20 * random_normal(&random) +
				     swing_n * sin(1.07 * ((double)i - COUNT) + phase);
}

static void append(struct record *record, double load_n)
{
	record->loads_n[record->count++] = load_n;
}

/* Feeds the record; returns how many were denied, and in maximum_n the largest passed on. What is
 * still held at the end is neither. */
static size_t feed(const struct record *record, double *maximum_n)
{
	struct policy policy;
	struct brink brink;
	struct track track;
	size_t denied = 0;
	int64_t maximum_un = 0;
	policy_defaults(&policy);
	brink_init(&brink, &policy);
	assert_true(track_init(&track, COUNT + 8));
	for (size_t i = 0; i < record->count; i++) {
		struct sample sample = {
			{(int64_t)i * INTERVAL_NS}, llround(record->loads_n[i] * 1e6), 0};
		struct spike_out out = {.count = 1, .passed = {sample}};
		if (!brink_pass(&brink, maximum_un, &sample))
			brink_feed(&brink, &track, record->since_ns, &sample, &out);
		denied += out.denied_count;
		for (size_t k = 0; k < out.count; k++) {
			track_add(&track,
				(struct slope_point){out.passed[k].time.ns, out.passed[k].load_un});
			if (out.passed[k].load_un > maximum_un)
				maximum_un = out.passed[k].load_un;
		}
	}
	assert_int_equal(track.count + denied + brink.held_count, record->count);
	track_finish(&track);
	*maximum_n = (double)maximum_un * 1e-6;
	return denied;
}

/* Wherever in its turn the swing is: a spike above it is none of it. */
static void a_spike_is_not_the_maximum(void **state)
{
	(void)state;
	static struct record record;
	double maximum_n;
	for (double phase = 0; phase < 6.2; phase += 0.4) {
		for (size_t width = 1; width <= 2; width++) {
			draw(&record, phase);
			for (size_t i = 0; i < width; i++)
				append(&record, 100000 + 500 * (double)(i + 1) + 6000);
			append(&record, 0);
			append(&record, 0);
			assert_int_equal(feed(&record, &maximum_n), width);
			assert_true(maximum_n < 102500);
		}
	}
}

/* The specimen fails at the crest of a swing, or in a spike too small to be told from one. */
static void the_crest_stays_the_maximum(void **state)
{
	(void)state;
	static struct record record;
	double maximum_n;
	for (double phase = 0; phase < 6.2; phase += 0.2) {
		for (double more = 1; more < 1.9; more += 0.2) {
			draw(&record, phase);
			append(&record, 100500 + more * swing_n);
			append(&record, 0);
			assert_int_equal(feed(&record, &maximum_n), 0);
			check_near(maximum_n, 100500 + more * swing_n, 1e-3);
		}
	}
}

/* Where the press hardly swings, a kink in the last reading is small against the load. */
static void a_small_step_stays_the_maximum(void **state)
{
	(void)state;
	static struct record record = {.count = 0};
	double maximum_n;
	for (size_t i = 0; i < 100; i++)
		append(&record, 1000 * (double)(i + 1));
	append(&record, 103500);
	append(&record, 0);
	assert_int_equal(feed(&record, &maximum_n), 0);
	check_near(maximum_n, 103500, 1e-3);
}

/* A load that jumps and stays there, or is lost only in part: it was one. */
static void what_is_not_lost_is_a_load(void **state)
{
	(void)state;
	static struct record record;
	double maximum_n;
	const double after_n[] = {112500, 103000, 80000};
	for (size_t i = 0; i < 3; i++) {
		draw(&record, 0);
		append(&record, 112000);
		append(&record, after_n[i]);
		append(&record, after_n[i]);
		append(&record, after_n[i]);
		assert_int_equal(feed(&record, &maximum_n), 0);
		assert_true(maximum_n >= 112000);
	}
}

/* A ramp so steep that the reading after the next is above the line before by itself. */
static void the_line_goes_on(void **state)
{
	(void)state;
	static struct record record = {.count = 0};
	double maximum_n;
	for (size_t i = 0; i < 30; i++)
		append(&record, 3000 * (double)(i + 1));
	append(&record, 97000);
	append(&record, 96000);
	append(&record, 0);
	assert_int_equal(feed(&record, &maximum_n), 0);
	check_near(maximum_n, 97000, 1e-3);
}

/* Behind a gap, and where the ramp has only begun, nobody knows what the load does. */
static void an_unknown_ramp_doubts_nothing(void **state)
{
	(void)state;
	static struct record record;
	double maximum_n;
	for (int64_t known = 0; known < 30; known += 5) {
		draw(&record, 0);
		record.since_ns = (COUNT - known) * (int64_t)INTERVAL_NS;
		append(&record, 112000);
		append(&record, 0);
		assert_int_equal(feed(&record, &maximum_n), known >= 16);
	}
}

/* Runs stored before rules 4 keep the answer that they had. */
static void older_rules_doubt_nothing(void **state)
{
	(void)state;
	struct policy policy;
	struct brink brink;
	struct sample sample = {{0}, 5000000, 0};
	policy_defaults(&policy);
	brink_init(&brink, &policy);
	assert_false(brink_pass(&brink, 1000000, &sample));
	policy.rules = 3;
	assert_true(brink_pass(&brink, 1000000, &sample));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_spike_is_not_the_maximum),
		cmocka_unit_test(the_crest_stays_the_maximum),
		cmocka_unit_test(a_small_step_stays_the_maximum),
		cmocka_unit_test(what_is_not_lost_is_a_load),
		cmocka_unit_test(the_line_goes_on),
		cmocka_unit_test(an_unknown_ramp_doubts_nothing),
		cmocka_unit_test(older_rules_doubt_nothing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
