/* SPDX-License-Identifier: MIT */
#include "trend_groups.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Fewer runs than this show no trend that a person should act on. */
enum { CREEP_RUNS_LEAST = 8 };
/* The slope must be this many standard errors: of twenty presses looked at every week, hardly one
 * should be named in a year without cause. */
static const double creep_sigmas = 4;
/* A move of less than this part of the way from the middle to a limit is of no use to know. */
static const double creep_least = 0.25;

static const double ns_per_week = 7 * 24 * 3600e9;

bool trend_run_of(struct trend_run *run, const struct rate_row *row)
{
	double middle = (row->band_low_pa_s + row->band_high_pa_s) / 2;
	double half = (row->band_high_pa_s - row->band_low_pa_s) / 2;
	*run = (struct trend_run){.started = row->started, .verdict = row->verdict};
	if (row->voided || row->verdict == VERDICT_NONE || !(half > 0) || row->window_ns == 0)
		return false;
	memcpy(run->press, row->press, sizeof(run->press));
	memcpy(run->set, row->set, sizeof(run->set));
	memcpy(run->technician, row->technician, sizeof(run->technician));
	run->mean = (row->mean_pa_s - middle) / half;
	run->low = (row->lowest_pa_s - middle) / half;
	run->high = (row->highest_pa_s - middle) / half;
	if (row->end == END_BROKEN)
		run->strength_pa = row->strength_pa;
	return true;
}

static void week_of(struct utc_time time, char *name, size_t size)
{
	time_t seconds = (time_t)(time.ns / CLOCKS_NS_PER_S);
	struct tm parts;
	gmtime_r(&seconds, &parts);
	strftime(name, size, "%G-W%V", &parts);
}

static void name_of(const struct trend_run *run, enum trend_by by, char *name)
{
	switch (by) {
	case TREND_BY_PRESS:
		memcpy(name, run->press, STORE_NAME_SIZE);
		break;
	case TREND_BY_TECHNICIAN:
		memcpy(name, run->technician[0] ? run->technician : "not entered",
			run->technician[0] ? STORE_NAME_SIZE : sizeof("not entered"));
		break;
	case TREND_BY_WEEK:
		week_of(run->started, name, STORE_NAME_SIZE);
		break;
	}
}

/* Weeks since the Monday before 1970 began. */
static int64_t week_number(struct utc_time time)
{
	return (time.ns / CLOCKS_NS_PER_S / (24 * 3600) + 3) / 7;
}

/* In the order of the names, without making the name of a week at every look. */
static int compare_names(
	const struct trend_run *left, const struct trend_run *right, enum trend_by by)
{
	if (by == TREND_BY_WEEK) {
		int64_t one = week_number(left->started), other = week_number(right->started);
		return (one > other) - (one < other);
	}
	char left_name[STORE_NAME_SIZE], right_name[STORE_NAME_SIZE];
	name_of(left, by, left_name);
	name_of(right, by, right_name);
	return strcmp(left_name, right_name);
}

static int compare_runs(const void *a, const void *b, void *context)
{
	enum trend_by by = *(const enum trend_by *)context;
	const struct trend_run *left = a, *right = b;
	int order = compare_names(left, right, by);
	if (order == 0)
		order = strcmp(left->set, right->set);
	return order ? order
		     : (left->started.ns > right->started.ns) -
			       (left->started.ns < right->started.ns);
}

static int compare_doubles(const void *a, const void *b)
{
	double left = *(const double *)a, right = *(const double *)b;
	return (left > right) - (left < right);
}

static double median(double *values, size_t count)
{
	assert(count > 0);
	qsort(values, count, sizeof(*values), compare_doubles);
	return (values[(count - 1) / 2] + values[count / 2]) / 2;
}

/* The runs of one set stand together, and are taken up to the next one. */
static void add_ranges(struct trend_group *group, const struct trend_run *runs, size_t count)
{
	double sum = 0;
	for (size_t i = 0, next; i < count; i = next) {
		double low = INFINITY, high = 0, total = 0;
		size_t strengths = 0;
		for (next = i; next < count && strcmp(runs[next].set, runs[i].set) == 0; next++) {
			double strength = runs[next].strength_pa;
			if (!(strength > 0))
				continue;
			low = fmin(low, strength);
			high = fmax(high, strength);
			total += strength;
			strengths++;
		}
		if (!runs[i].set[0] || strengths < 2)
			continue;
		sum += 100 * (high - low) / (total / (double)strengths);
		group->sets++;
	}
	if (group->sets > 0)
		group->range_percent = sum / (double)group->sets;
}

/* values: room for count. */
static void fill_group(
	struct trend_group *group, const struct trend_run *runs, size_t count, double *values)
{
	group->runs = count;
	group->lowest = INFINITY;
	group->highest = -INFINITY;
	for (size_t i = 0; i < count; i++) {
		group->in_band += runs[i].verdict == VERDICT_IN_BAND;
		group->out_of_band += runs[i].verdict == VERDICT_OUT_OF_BAND;
		group->mean += runs[i].mean / (double)count;
		group->lowest = fmin(group->lowest, runs[i].low);
		group->highest = fmax(group->highest, runs[i].high);
		values[i] = runs[i].low;
	}
	group->low = median(values, count);
	for (size_t i = 0; i < count; i++)
		values[i] = runs[i].high;
	group->high = median(values, count);
	add_ranges(group, runs, count);
}

bool trend_groups(struct trend_run *runs, size_t count, enum trend_by by,
	struct trend_group **groups, size_t *group_count)
{
	struct trend_group *all = calloc(count + 1, sizeof(*all));
	double *values = calloc(count + 1, sizeof(*values));
	*group_count = 0;
	*groups = all;
	if (!all || !values) {
		free(all);
		free(values);
		return false;
	}
	if (count > 0)
		qsort_r(runs, count, sizeof(*runs), compare_runs, &by);
	for (size_t i = 0, next; i < count; i = next) {
		struct trend_group *group = &all[(*group_count)++];
		name_of(&runs[i], by, group->name);
		group->unknown = by == TREND_BY_TECHNICIAN && !runs[i].technician[0];
		next = i + 1;
		while (next < count && compare_names(&runs[i], &runs[next], by) == 0)
			next++;
		fill_group(group, &runs[i], next - i, values);
	}
	free(values);
	return true;
}

/* Least squares of mean place against time in weeks; times from the first run on. */
bool trend_creep_of(
	const struct trend_run *runs, size_t count, const char *press, struct trend_creep *creep)
{
	double n = 0, t_mean = 0, y_mean = 0, tt = 0, ty = 0, yy = 0;
	int64_t first = INT64_MAX, last = INT64_MIN;
	for (size_t i = 0; i < count; i++) {
		if (strcmp(runs[i].press, press) != 0)
			continue;
		first = runs[i].started.ns < first ? runs[i].started.ns : first;
		last = runs[i].started.ns > last ? runs[i].started.ns : last;
	}
	for (size_t i = 0; i < count; i++) {
		if (strcmp(runs[i].press, press) != 0)
			continue;
		/* Sums about the running means, so that nothing cancels (Welford 1962). */
		double t = (double)(runs[i].started.ns - first) / ns_per_week, y = runs[i].mean;
		double dt = t - t_mean, dy = y - y_mean;
		n++;
		t_mean += dt / n;
		y_mean += dy / n;
		tt += dt * (t - t_mean);
		ty += dt * (y - y_mean);
		yy += dy * (y - y_mean);
	}
	if (n < CREEP_RUNS_LEAST || !(tt > 0))
		return false;
	double slope = ty / tt, residual = fmax(yy - slope * ty, 0) / (n - 2);
	creep->weeks = (double)(last - first) / ns_per_week;
	creep->per_week = slope;
	creep->total = slope * creep->weeks;
	return fabs(creep->total) >= creep_least &&
	       fabs(slope) > creep_sigmas * sqrt(residual / tt);
}
