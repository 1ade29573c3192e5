/* SPDX-License-Identifier: MIT
 *
 * Nothing on the way of a reading allocates: the linker sends the judge's calls of malloc, calloc
 * and realloc here (--wrap), and none may come between judge_create and judge_destroy, whatever
 * happens in the run: events of every kind, a track that is thinned, a judgement in between.
 */
#include "base/units.h"
#include "judge/judge.h"
#include "unit/check.h"
#include "unit/random.h"

#include <stdlib.h>

static long calls;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *memory, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *memory, size_t size);

void *__wrap_malloc(size_t size)
{
	calls++;
	return __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
	calls++;
	return __real_calloc(count, size);
}

void *__wrap_realloc(void *memory, size_t size)
{
	calls++;
	return __real_realloc(memory, size);
}

/* 300 kN at 2.5 kN/s in 1 kHz, with a stand-still, a fall, a jump, spikes and gaps on the way. */
static void feed_run(struct judge *judge, struct random *random)
{
	double load_n = 0;
	int64_t time_ns = 0;
	for (int i = 0; load_n < 300e3; i++) {
		bool stands = i > 60000 && i < 64000;
		load_n += stands ? 0 : i == 80000 ? 12e3 : i == 70000 ? -10e3 : 2.5;
		double spike_n = i % 9973 == 9000 ? 50e3 : 0;
		time_ns += i % 20011 == 20000 ? CLOCKS_NS_PER_S : CLOCKS_NS_PER_MS;
		struct sample sample = {.time = {time_ns},
			.load_un = llround((load_n + spike_n + 20 * random_normal(random)) * 1e6)};
		assert_false(judge_feed(judge, &sample));
		struct live live;
		judge_live(judge, &live);
	}
	for (int i = 0; i < 2000; i++) {
		time_ns += CLOCKS_NS_PER_MS;
		struct sample sample = {.time = {time_ns}, .load_un = i < 100 ? 150000000000 : 0};
		judge_feed(judge, &sample);
	}
}

static void nothing_is_allocated(void **state)
{
	(void)state;
	struct plan plan = {.area_m2 = 0.01,
		.rate_unit_pa = UNITS_PASCAL_PER_MPA,
		.band_low = 0.20,
		.band_high = 0.30,
		.span_from = 0.5,
		.span_to = 0.9,
		.window_ns = 5 * CLOCKS_NS_PER_S,
		.anticipated_load_un = 300000000000,
		.basis_anticipated = true,
		.contact_un = 300000000};
	struct random random = {1};
	static struct judgement judgement;
	policy_defaults(&plan.policy);
	calls = 0;
	struct judge *judge = judge_create(50000);
	assert_non_null(judge);
	assert_true(calls >= 2); /* they do come here */
	calls = 0;
	for (int run = 0; run < 2; run++) {
		judge_start(judge, &plan);
		feed_run(judge, &random);
		judge_finish(judge, &judgement);
		assert_int_equal(judgement.end, END_BROKEN);
		assert_true(judgement.event_total > 10);
		judge_give_back(judge);
	}
	assert_int_equal(calls, 0);
	judge_destroy(judge);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nothing_is_allocated),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
