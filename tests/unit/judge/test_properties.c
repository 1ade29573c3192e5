/* SPDX-License-Identifier: MIT
 *
 * What must hold for every run, whatever happens in it: runs drawn at random (rates in and out of
 * the band, excursions, stand-stills, falls that recover, brittle and slow ends, loads let off;
 * noise, hunting, coarse displays, gaps, spikes), judged twice. The truth is not asked: only that
 * both judgements agree.
 *
 * Random, from a seed: RAMPLOG_SEED, else 1.
 */
#include "press.h"

#include "base/units.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

enum { RUNS = 150 };

/* On 0.01 m2, 0.25 MPa/s is 2500 N/s. */
static const double area_m2 = 0.01, middle_n_s = 2500;

static uint64_t seed(void)
{
	const char *text = getenv("RAMPLOG_SEED");
	return text != NULL ? strtoull(text, NULL, 10) : 1;
}

static struct plan make_plan(struct random *random, double top_n)
{
	struct plan plan = {
		.area_m2 = area_m2,
		.rate_unit_pa = UNITS_PASCAL_PER_MPA,
		.band_low = 0.20,
		.band_high = 0.30,
		.span_from = 0.5,
		.span_to = 0.9,
		.window_ns = 5 * CLOCKS_NS_PER_S,
		.basis_anticipated = true,
		.contact_un = 2000 * UNITS_UN_PER_N,
	};
	policy_defaults(&plan.policy);
	if (random_pick(random, 2) == 0)
		plan.anticipated_load_un =
			llround(top_n * random_between(random, 0.7, 1.3)) * UNITS_UN_PER_N;
	return plan;
}

static void draw_middle(struct press *press, struct random *random, double top_n, double rate_n_s)
{
	double from_n = press->load_n;
	switch (random_pick(random, 6)) {
	case 0:
		press_hold(press, random_between(random, 0.5, 8));
		break;
	case 1: /* a corner lets go */
		press_to(press, from_n * random_between(random, 0.8, 0.98), top_n);
		break;
	case 2: /* an excursion */
		press_to(press, fmin(top_n * 0.85, from_n + 20e3),
			rate_n_s * random_scale(random, 0.5, 2));
		break;
	case 3:
		press_gap(press, random_between(random, 0.1, 7), rate_n_s);
		break;
	case 4:
		press->samples[press->count - 1 - (size_t)random_pick(random, 100)].load_un *=
			random_pick(random, 3);
		break;
	default:
		break;
	}
}

static void draw_end(struct press *press, struct random *random, double top_n, double rate_n_s)
{
	int kind = random_pick(random, 4);
	if (kind == 0) {
		press_round(press, top_n, rate_n_s);
		press_to(press, 0.7 * top_n, rate_n_s);
	} else {
		press_to(press, top_n, rate_n_s);
	}
	if (kind == 3)
		return; /* the readings stop */
	press_to(press, 0, top_n * (kind == 1 ? 0.2 : 8));
	press_hold(press, 2);
}

/* A whole run; the press and its plan. Laid over it: noise, hunting, a display of step_n. */
static struct press *draw(uint64_t run, double step_n, struct plan *plan)
{
	const double hertz[] = {10, 20, 50, 100};
	struct random random = {seed() * 1000003 + run};
	struct press *press = press_new(hertz[random_pick(&random, 4)]);
	double top_n = random_between(&random, 120e3, 400e3);
	double rate_n_s = middle_n_s * random_between(&random, 0.7, 1.3);
	*plan = make_plan(&random, top_n);
	press->random.state = random_bits(&random);
	press->noise_n = random_scale(&random, 1, 200);
	press->step_n = step_n > 0 ? step_n : random_scale(&random, 1, 500);
	if (random_pick(&random, 3) == 0) {
		press->swing_n = random_between(&random, 100, 1500);
		press->swing_hz = random_between(&random, 0.5, 2.5);
	}
	press_hold(press, 3);
	press_to(press, 0.4 * top_n, rate_n_s * random_between(&random, 1, 3));
	press_to(press, top_n * random_between(&random, 0.45, 0.75), rate_n_s);
	draw_middle(press, &random, top_n, rate_n_s);
	press_to(press, 0.85 * top_n, rate_n_s);
	draw_end(press, &random, top_n, rate_n_s);
	return press;
}

#define fail_run(run, ...) \
	do { \
		print_error("seed %llu, run %llu: ", (unsigned long long)seed(), \
			(unsigned long long)(run)); \
		fail_msg(__VA_ARGS__); \
	} while (0)

/* Numbers of two judgements of one rate agree to a relative tolerance; 0: bit for bit. */
static void check_rates(uint64_t run, const struct rate *a, const struct rate *b, int64_t shift_ns,
	double tolerance)
{
	const double pairs[][2] = {{a->band_low_pa_s, b->band_low_pa_s},
		{a->band_high_pa_s, b->band_high_pa_s}, {a->mean_pa_s, b->mean_pa_s},
		{a->lowest_pa_s, b->lowest_pa_s}, {a->highest_pa_s, b->highest_pa_s},
		{a->uncertainty_pa_s, b->uncertainty_pa_s}};
	if (a->verdict != b->verdict)
		fail_run(run, "%s: %s / %s: %s", verdict_text(a->verdict), a->reason,
			verdict_text(b->verdict), b->reason);
	if (a->verdict == VERDICT_NONE)
		return;
	for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
		double size = fmax(fabs(pairs[i][0]), a->band_low_pa_s);
		if (fabs(pairs[i][0] - pairs[i][1]) > tolerance * size)
			fail_run(run, "number %zu: %.17g and %.17g", i, pairs[i][0], pairs[i][1]);
	}
	if (a->window_ns != b->window_ns || a->outside_ns != b->outside_ns)
		fail_run(run, "window or time outside differ");
	if (a->window_ns > 0 &&
		(b->from.ns - a->from.ns != shift_ns || b->to.ns - a->to.ns != shift_ns))
		fail_run(run, "judged spans differ");
}

static void check_judgements(uint64_t run, const struct judgement *a, const struct judgement *b,
	int64_t shift_ns, double tolerance)
{
	if (a->end != b->end)
		fail_run(run, "%s and %s", end_text(a->end), end_text(b->end));
	assert_int_equal(a->basis, b->basis);
	assert_int_equal(b->maximum_at.ns - a->maximum_at.ns, shift_ns);
	check_rates(run, &a->rate, &b->rate, shift_ns, tolerance);
	check_rates(run, &a->rate_other, &b->rate_other, shift_ns, tolerance);
	if (a->event_total != b->event_total)
		fail_run(run, "%zu and %zu events", a->event_total, b->event_total);
	for (size_t i = 0; i < a->event_count; i++) {
		if (a->events[i].kind != b->events[i].kind ||
			b->events[i].time.ns - a->events[i].time.ns != shift_ns)
			fail_run(run, "event %zu differs: %s, %s", i, a->events[i].text,
				b->events[i].text);
	}
}

static void scale(struct press *press, struct plan *plan, int64_t factor)
{
	for (size_t i = 0; i < press->count; i++)
		press->samples[i].load_un *= factor;
	plan->area_m2 *= (double)factor;
	plan->contact_un *= factor;
	plan->anticipated_load_un *= factor;
}

/* Load and area larger by one factor: the stresses are the same. A power of two changes no bit; a
 * three rounds differently, in the last digits only. */
static void larger_specimen(void **state)
{
	(void)state;
	const int64_t factors[] = {2, 16, 3};
	for (uint64_t run = 0; run < RUNS; run++) {
		int64_t factor = factors[run % 3];
		struct plan plan;
		struct judgement first, second;
		struct press *press = draw(run, 0, &plan);
		press_judge(press, &plan, &first);
		scale(press, &plan, factor);
		press_judge(press, &plan, &second);
		free(press);
		assert_int_equal(second.maximum_un, first.maximum_un * factor);
		check_judgements(run, &first, &second, 0, factor == 3 ? 1e-9 : 0);
	}
}

static void other_time(void **state)
{
	(void)state;
	const int64_t shifts_ns[] = {1, INT64_C(86400000000000), INT64_C(1700000000123456789)};
	for (uint64_t run = 0; run < RUNS; run++) {
		int64_t shift_ns = shifts_ns[run % 3];
		struct plan plan;
		struct judgement first, second;
		struct press *press = draw(run, 0, &plan);
		press_judge(press, &plan, &first);
		for (size_t i = 0; i < press->count; i++)
			press->samples[i].time.ns += shift_ns;
		press_judge(press, &plan, &second);
		free(press);
		assert_int_equal(second.maximum_un, first.maximum_un);
		check_judgements(run, &first, &second, shift_ns, 0);
		assert_string_equal(first.rate.reason, second.rate.reason);
	}
}

/* A display ten times finer shows the maximum elsewhere by no more than one coarse step. */
static void finer_display(void **state)
{
	(void)state;
	for (uint64_t run = 0; run < RUNS; run++) {
		const double steps_n[] = {10, 100, 1000};
		double coarse_n = steps_n[run % 3];
		struct plan plan;
		struct judgement coarse, fine;
		struct press *press = draw(run, coarse_n, &plan);
		press_judge(press, &plan, &coarse);
		free(press);
		press = draw(run, coarse_n / 10, &plan);
		press_judge(press, &plan, &fine);
		free(press);
		double moved_n = (double)(coarse.maximum_un - fine.maximum_un) * 1e-6;
		if (fabs(moved_n) > coarse_n)
			fail_run(run, "the maximum moved by %.1f N", moved_n);
	}
}

/* Once the judge has said that the run is over, nothing that follows belongs to it. */
static void samples_after_release(void **state)
{
	(void)state;
	size_t over_count = 0;
	for (uint64_t run = 0; run < RUNS; run++) {
		struct plan plan;
		struct judgement first, second;
		struct random random = {run};
		struct press *press = draw(run, 0, &plan);
		struct judge *judge = judge_create(press->count);
		assert_non_null(judge);
		judge_start(judge, &plan);
		bool over = false;
		for (size_t i = 0; i < press->count && !over; i++)
			over = judge_feed(judge, &press->samples[i]);
		judge_finish(judge, &first);
		int64_t last_ns = press->samples[press->count - 1].time.ns;
		for (int64_t i = 1; over && i < 500; i++) {
			struct sample sample = {.time = {last_ns + i * 10 * CLOCKS_NS_PER_MS},
				.load_un = (int64_t)random_between(&random, 0, 5e11)};
			assert_true(judge_feed(judge, &sample));
		}
		judge_finish(judge, &second);
		assert_memory_equal(&first, &second, sizeof first);
		over_count += over;
		judge_destroy(judge);
		free(press);
	}
	assert_true(over_count > RUNS / 2);
}

/* The same run in lbf with its band in psi/s, and in N with the corresponding band in MPa/s. */
static void mirrored_units(void **state)
{
	(void)state;
	for (uint64_t run = 0; run < RUNS; run++) {
		struct plan plan;
		struct judgement inch_pound, si;
		struct press *press = draw(run, UNITS_NEWTON_PER_LBF * 10, &plan);
		plan.unit = RATE_UNIT_PSI_S;
		plan.rate_unit_pa = UNITS_PASCAL_PER_PSI;
		plan.band_low = 28;
		plan.band_high = 42;
		press_judge(press, &plan, &inch_pound);
		plan.unit = RATE_UNIT_MPA_S;
		plan.rate_unit_pa = UNITS_PASCAL_PER_MPA;
		plan.band_low = 28 * UNITS_PASCAL_PER_PSI / UNITS_PASCAL_PER_MPA;
		plan.band_high = 42 * UNITS_PASCAL_PER_PSI / UNITS_PASCAL_PER_MPA;
		press_judge(press, &plan, &si);
		free(press);
		assert_int_equal(inch_pound.maximum_un, si.maximum_un);
		check_judgements(run, &inch_pound, &si, 0, 1e-12);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(larger_specimen),
		cmocka_unit_test(other_time),
		cmocka_unit_test(finer_display),
		cmocka_unit_test(samples_after_release),
		cmocka_unit_test(mirrored_units),
	};
	print_message("seed %llu\n", (unsigned long long)seed());
	return cmocka_run_group_tests(tests, NULL, NULL);
}
