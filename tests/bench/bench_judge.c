/* SPDX-License-Identifier: MIT
 *
 * Nanoseconds per sample that the judge takes, from slow to quick cells: the cost must not depend
 * on how many samples its windows hold. Beside it what one of its windows would cost if every
 * sample brought a new fit over all of its points: written plainly (mean, then sums about it), and
 * by GSL.
 */
#include "stopwatch.h"

#include "base/units.h"
#include "judge/judge.h"
#include "result/method.h"

#include <gsl/gsl_fit.h>
#include <stdio.h>
#include <stdlib.h>

/* A run of two minutes at the middle of the band. A slow cell's run is repeated until it makes at
 * least this many samples. */
enum { RUN_S = 120, HERTZ_MAX = 5000, SAMPLES_MAX = RUN_S * HERTZ_MAX, SAMPLES_LEAST = 200000 };
/* Fits over a whole window are slow: this many are enough to time them. */
enum { FITS = 400 };

static double x[SAMPLES_MAX], y[SAMPLES_MAX];
static struct sample samples[SAMPLES_MAX];
/* What is computed for its time alone goes here. */
static volatile double sink;

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
static int make_samples(const struct plan *plan, int hertz)
{
	double middle = (plan->band_low + plan->band_high) / 2 * plan->rate_unit_pa;
	double step_un = middle * plan->area_m2 * 1e6 / hertz;
	int count = RUN_S * hertz;
	for (int i = 0; i < count; i++) {
		int64_t ripple_un = (int64_t)((uint32_t)i * UINT32_C(2654435761) % 30000000);
		samples[i].time.ns = i * (CLOCKS_NS_PER_S / hertz);
		samples[i].load_un = (int64_t)(i * step_un) + ripple_un;
		x[i] = (double)samples[i].time.ns * 1e-9;
		y[i] = (double)samples[i].load_un * 1e-6;
	}
	return count;
}

/* Per sample, and the end of a run apart from it. */
static double time_judge(struct judge *judge, const struct plan *plan, int count, double *end_ns)
{
	static struct judgement judgement;
	int runs = (SAMPLES_LEAST + count - 1) / count;
	double feed_ns = 0;
	*end_ns = 0;
	for (int run = 0; run < runs; run++) {
		double start = stopwatch_cpu_ns();
		judge_start(judge, plan);
		for (int i = 0; i < count; i++)
			judge_feed(judge, &samples[i]);
		double fed = stopwatch_cpu_ns();
		judge_finish(judge, &judgement);
		feed_ns += fed - start;
		*end_ns += stopwatch_cpu_ns() - fed;
	}
	*end_ns /= runs;
	return feed_ns / runs / count;
}

static double fit_plainly(const double *at, const double *load, int count)
{
	double mean_at = 0, mean_load = 0, xx = 0, xy = 0, yy = 0;
	for (int i = 0; i < count; i++) {
		mean_at += at[i];
		mean_load += load[i];
	}
	mean_at /= count;
	mean_load /= count;
	for (int i = 0; i < count; i++) {
		double dx = at[i] - mean_at, dy = load[i] - mean_load;
		xx += dx * dx;
		xy += dx * dy;
		yy += dy * dy;
	}
	return xy / xx + (yy - xy * xy / xx); /* both the slope and its residuals are wanted */
}

static double fit_by_gsl(const double *at, const double *load, int count)
{
	double intercept, slope, c00, c01, c11, squares;
	gsl_fit_linear(
		at, 1, load, 1, (size_t)count, &intercept, &slope, &c00, &c01, &c11, &squares);
	return slope + c11;
}

static double time_fits(double (*fit)(const double *, const double *, int), int window)
{
	double start = stopwatch_cpu_ns();
	for (int i = 0; i < FITS; i++)
		sink = fit(x + i, y + i, window);
	return (stopwatch_cpu_ns() - start) / FITS;
}

static void bench_at(int hertz)
{
	double feed[STOPWATCH_REPETITIONS], end[STOPWATCH_REPETITIONS];
	double plain[STOPWATCH_REPETITIONS], gsl[STOPWATCH_REPETITIONS];
	struct plan plan = make_plan();
	struct judge *judge = judge_create(SAMPLES_MAX);
	if (judge == NULL)
		abort();
	int count = make_samples(&plan, hertz);
	int window = (int)(plan.window_ns * hertz / CLOCKS_NS_PER_S);
	for (int i = 0; i < STOPWATCH_REPETITIONS; i++) {
		feed[i] = time_judge(judge, &plan, count, &end[i]);
		plain[i] = time_fits(fit_plainly, window);
		gsl[i] = time_fits(fit_by_gsl, window);
	}
	printf("%9d %8d %8.1f %15.0f %16.0f %8.0f\n", hertz, window,
		stopwatch_median(feed, STOPWATCH_REPETITIONS),
		stopwatch_median(end, STOPWATCH_REPETITIONS) * 1e-3,
		stopwatch_median(plain, STOPWATCH_REPETITIONS),
		stopwatch_median(gsl, STOPWATCH_REPETITIONS));
	judge_destroy(judge);
}

int main(void)
{
	puts("ns per sample: the whole judge (three windows, phases, events); one window fitted "
	     "afresh");
	puts("samples/s   window    judge   end of run, us   fitted plainly   by GSL");
	bench_at(10);
	bench_at(100);
	bench_at(1000);
	bench_at(HERTZ_MAX);
	return 0;
}
