/* SPDX-License-Identifier: MIT
 *
 * The spike filter: what it denies, what it must let pass, and that nothing is lost on the way.
 */
#include "judge/spike.h"
#include "unit/check.h"
#include "unit/random.h"

enum { COUNT_MAX = 4000 };

/* What a filter made of a series. */
struct sorted {
	size_t passed_count, denied_count;
	struct sample passed[COUNT_MAX], denied[COUNT_MAX];
};

static void collect(struct sorted *sorted, const struct spike_out *out)
{
	for (size_t i = 0; i < out->count; i++)
		sorted->passed[sorted->passed_count++] = out->passed[i];
	for (size_t i = 0; i < out->denied_count; i++)
		sorted->denied[sorted->denied_count++] = out->denied[i];
}

static void filter(const double *loads_n, size_t count, struct sorted *sorted)
{
	struct policy policy;
	struct spike spike;
	struct spike_out out;
	policy_defaults(&policy);
	spike_init(&spike, &policy);
	*sorted = (struct sorted){0};
	for (size_t i = 0; i < count; i++) {
		struct sample sample = {{(int64_t)i * 20000000}, llround(loads_n[i] * 1e6), 0};
		spike_feed(&spike, &sample, &out);
		collect(sorted, &out);
	}
	spike_flush(&spike, &out);
	collect(sorted, &out);
	assert_int_equal(sorted->passed_count + sorted->denied_count, count);
}

/* 4 kN/s at 50 Hz, noise of 20 N. */
static void draw_ramp(double *loads_n, size_t count)
{
	struct random random = {5};
	for (size_t i = 0; i < count; i++)
		loads_n[i] = 10000 + 80 * (double)i + 20 * random_normal(&random);
}

/* Width 1 and 2, up and down: denied, and only these. */
static void one_and_two_are_denied(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	for (size_t width = 1; width <= 2; width++) {
		for (int sign = -1; sign <= 1; sign += 2) {
			draw_ramp(loads, 1000);
			for (size_t i = 0; i < width; i++)
				loads[500 + i] += sign * 5000 * (1 + 0.1 * (double)i);
			filter(loads, 1000, &sorted);
			assert_int_equal(sorted.denied_count, width);
			assert_int_equal(sorted.denied[0].time.ns, INT64_C(500) * 20000000);
		}
	}
}

/* A load that swings goes on behind a spike: back is back though it changed by more than it does
 * from one reading to the next. */
static void back_beside_where_it_was(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	draw_ramp(loads, 1000);
	for (size_t i = 500; i < 1000; i++)
		loads[i] += i < 502 ? 8000 : 900;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 2);
	assert_int_equal(sorted.denied[0].time.ns, INT64_C(500) * 20000000);
}

/* Three on one side are a load: a corner that lets go, a gap behind which the load went on. */
static void three_are_real(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	draw_ramp(loads, 1000);
	for (size_t i = 0; i < 3; i++)
		loads[500 + i] -= 5000;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
	draw_ramp(loads, 1000);
	for (size_t i = 500; i < 1000; i++)
		loads[i] += 20000;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
}

/* Full load to nothing between two samples: real, however the record ends. */
static void explosion_is_real(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	for (size_t after = 1; after <= 5; after++) {
		draw_ramp(loads, 900);
		for (size_t i = 0; i < after; i++)
			loads[900 + i] = 0;
		filter(loads, 900 + after, &sorted);
		assert_int_equal(sorted.denied_count, 0);
		assert_int_equal(sorted.passed[sorted.passed_count - 1].load_un, 0);
	}
}

/* A reading far above, the very last before the explosion, never becomes the maximum. */
static void spike_before_the_explosion(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	draw_ramp(loads, 901);
	loads[900] += 30000;
	for (size_t i = 901; i < 1000; i++)
		loads[i] = 0;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 1);
	assert_int_equal(sorted.denied[0].load_un, llround(loads[900] * 1e6));
}

/* A ramp that begins after a quiet time is one change for good after the other: even there a
 * reading that jumps out of all proportion is denied. */
static void spike_where_the_ramp_begins(void **state)
{
	(void)state;
	static double loads[300];
	static struct sorted sorted;
	for (size_t at = 202; at < 230; at++) {
		struct random random = {5};
		for (size_t i = 0; i < 300; i++)
			loads[i] = 5 * random_normal(&random) +
				   (i > 200 ? 170.0 * (double)(i - 200) : 0);
		loads[at] += 50000;
		filter(loads, 300, &sorted);
		assert_int_equal(sorted.denied_count, 1);
		assert_int_equal(sorted.denied[0].load_un, llround(loads[at] * 1e6));
	}
}

/* At the end of a record a jump up is not believed, a fall is. */
static void end_of_the_record(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	draw_ramp(loads, 1000);
	loads[999] += 30000;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 1);
	draw_ramp(loads, 1000);
	loads[999] -= 30000;
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
}

/* Jumps that are usual here, or small against the load, or a few steps of a coarse display. */
static void usual_changes_pass(void **state)
{
	(void)state;
	static double loads[2000];
	static struct sorted sorted;
	struct random random = {9};
	for (size_t i = 0; i < 2000; i++) /* a pump's ripple, larger than the ramp */
		loads[i] = 10000 + 20 * (double)i + 400 * sin(2.1 * (double)i);
	filter(loads, 2000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
	for (size_t i = 0; i < 2000; i++) /* a display of 1 kN */
		loads[i] = 1000 * round(0.02 * (double)i + 0.4 * random_normal(&random));
	filter(loads, 2000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
	for (size_t i = 0; i < 2000; i++) /* ... on a slow ramp, and two of its steps for once */
		loads[i] = 1000 * floor(0.02 * (double)i) + (i == 1025 ? 2000 : 0);
	filter(loads, 2000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
	draw_ramp(loads, 2000);
	loads[1900] += 0.0025 * loads[1900]; /* below spike_fraction */
	filter(loads, 2000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
}

/* Whatever comes: each sample comes out once, passed ones in order, at most two late. */
static void nothing_is_lost(void **state)
{
	(void)state;
	struct policy policy;
	struct spike spike;
	struct spike_out out;
	struct random random = {21};
	policy_defaults(&policy);
	spike_init(&spike, &policy);
	size_t came = 0;
	int64_t last_ns = -1;
	for (int64_t i = 0; i < 20000; i++) {
		double load =
			1e6 + (random_pick(&random, 4) == 0 ? 1e5 : 10) * random_normal(&random);
		spike_feed(&spike, &(struct sample){{i}, llround(load * 1e6), 0}, &out);
		came += out.count + out.denied_count;
		assert_in_range((size_t)i + 1 - came, 0, 2);
		for (size_t k = 0; k < out.count; k++) {
			assert_true(out.passed[k].time.ns > last_ns);
			last_ns = out.passed[k].time.ns;
		}
	}
}

/* A press that swings at 1.5 Hz, read ten times a second: its changes are large, and never much
 * larger; also in a run of a quarter of a minute. */
static void swing_hides_no_spike(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	for (size_t at = 130; at < 520; at += at == 150 ? 350 : 1) {
		for (size_t width = 1; width <= 2; width++) {
			draw_ramp(loads, 1000);
			for (size_t i = 0; i < 1000; i++)
				loads[i] += 550 * sin(0.97 * (double)i);
			for (size_t i = 0; i < width; i++)
				loads[at + i] += 2500;
			filter(loads, 1000, &sorted);
			assert_int_equal(sorted.denied_count, width);
			assert_int_equal(sorted.denied[0].time.ns, (int64_t)at * 20000000);
		}
	}
}

/* A corner lets go by four readings of the ramp: the third is half way back, but not at once. */
static void risen_again_is_no_spike(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	draw_ramp(loads, 1000);
	for (size_t i = 0; i < 1000; i++)
		loads[i] += 1220 * (double)i - (i >= 500 ? 5500 : 0);
	filter(loads, 1000, &sorted);
	assert_int_equal(sorted.denied_count, 0);
}

/* What the load did while nobody read it is no spike, whatever comes next. */
static void gap_excuses_a_jump(void **state)
{
	(void)state;
	const double after_n[] = {60000, 60000, 25000, 0};
	struct policy policy;
	struct spike_out out;
	policy_defaults(&policy);
	for (int told = 0; told <= 1; told++) {
		struct spike spike;
		size_t denied = 0;
		spike_init(&spike, &policy);
		for (int64_t i = 0; i < 504; i++) {
			double load_n = i < 500 ? 10000 + 80 * (double)i : after_n[i - 500];
			if (told && i == 500)
				spike_after_gap(&spike);
			spike_feed(&spike, &(struct sample){{i}, llround(load_n * 1e6), 0}, &out);
			denied += out.denied_count;
		}
		assert_int_equal(denied, told ? 0 : 2);
	}
}

/* Spikes, each alone, teach nothing: the fifth is doubted as the first was. */
static void spikes_teach_nothing(void **state)
{
	(void)state;
	static double loads[1000];
	static struct sorted sorted;
	for (size_t width = 1; width <= 2; width++) {
		draw_ramp(loads, 1000);
		for (size_t at = 50; at <= 106; at += 14) {
			for (size_t i = 0; i < width; i++)
				loads[at + i] += at < 106 ? 40000 : 1500;
		}
		filter(loads, 1000, &sorted);
		assert_int_equal(sorted.denied_count, 5 * width);
		assert_int_equal(sorted.denied[4 * width].time.ns, INT64_C(106) * 20000000);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_and_two_are_denied),
		cmocka_unit_test(back_beside_where_it_was),
		cmocka_unit_test(three_are_real),
		cmocka_unit_test(explosion_is_real),
		cmocka_unit_test(spike_before_the_explosion),
		cmocka_unit_test(spike_where_the_ramp_begins),
		cmocka_unit_test(end_of_the_record),
		cmocka_unit_test(usual_changes_pass),
		cmocka_unit_test(nothing_is_lost),
		cmocka_unit_test(swing_hides_no_spike),
		cmocka_unit_test(risen_again_is_no_spike),
		cmocka_unit_test(gap_excuses_a_jump),
		cmocka_unit_test(spikes_teach_nothing),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
