/* SPDX-License-Identifier: MIT
 *
 * Nanoseconds per sample that the judge takes, for slow and quick cells: the cost must not depend
 * on how many samples its windows hold.
 */
#include "stopwatch.h"

#include "base/units.h"
#include "judge/judge.h"
#include "result/method.h"

#include <stdio.h>
#include <stdlib.h>

enum { SAMPLES = 200000 };

static struct plan make_plan(void)
{
	struct specimen specimen = {
		.id = "bench", .width_um = {100000, 100000}, .length_um = 200000};
	struct plan plan;
	snprintf(specimen.method, sizeof specimen.method, "astm-c39");
	if (!method_plan(method_find("astm-c39"), &specimen, &plan, NULL))
		abort();
	plan.contact_un = 300 * UNITS_UN_PER_N;
	return plan;
}

/* A steady ramp with a ripple that no two samples share. */
static void make_samples(struct sample *samples, int64_t step_ns)
{
	for (int i = 0; i < SAMPLES; i++) {
		int64_t ripple_un = (int64_t)((uint32_t)i * UINT32_C(2654435761) % 30000000);
		samples[i].time.ns = i * step_ns;
		samples[i].load_un = i * (int64_t)(2e9 / SAMPLES * 100) + ripple_un;
	}
}

static double measure(struct judge *judge, const struct plan *plan, const struct sample *samples)
{
	struct judgement judgement;
	double start = stopwatch_ns();
	judge_start(judge, plan);
	for (int i = 0; i < SAMPLES; i++)
		judge_feed(judge, &samples[i]);
	judge_finish(judge, &judgement);
	return (stopwatch_ns() - start) / SAMPLES;
}

static void bench_at(int hertz)
{
	static struct sample samples[SAMPLES];
	double ns[STOPWATCH_REPETITIONS];
	struct plan plan = make_plan();
	struct judge *judge = judge_create(SAMPLES);
	make_samples(samples, CLOCKS_NS_PER_S / hertz);
	for (int i = 0; i < STOPWATCH_REPETITIONS; i++)
		ns[i] = measure(judge, &plan, samples);
	printf("judge, %5d samples/s: %7.1f ns per sample, verdict included\n", hertz,
		stopwatch_median(ns, STOPWATCH_REPETITIONS));
	judge_destroy(judge);
}

int main(void)
{
	bench_at(10);
	bench_at(100);
	bench_at(1000);
	bench_at(5000);
	return 0;
}
