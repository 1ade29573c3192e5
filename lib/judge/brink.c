/* SPDX-License-Identifier: MIT
 *
 * The line before a reading, and what becomes of one that departs from it; see brink.h.
 */
#include "judge/brink.h"

#include <math.h>

/* So many readings make a line with a swing about it; more than so many are no swing's turns. */
enum { LINE_MIN = 16, LINE_MAX = 64 };

void brink_init(struct brink *brink, const struct policy *policy)
{
	*brink = (struct brink){.policy = policy};
}

/* How many of the track's newest samples are the readings to compare with. */
static size_t count_before(const struct brink *brink, const struct track *track, int64_t since_ns)
{
	size_t count = 0;
	int64_t newest_ns = track->count > 0 ? track_time_ns(track, track->count - 1) : 0;
	while (count < track->count && count < LINE_MAX) {
		int64_t time_ns = track_time_ns(track, track->count - 1 - count);
		if (time_ns < since_ns ||
			(double)(newest_ns - time_ns) > brink->policy->brink_s * 1e9)
			break;
		count++;
	}
	return count;
}

/* A straight line by least squares through the newest samples, taken as one after the other at an
 * even pace, which readings in chunks are too: load = level + slope * place, the place of the next
 * sample being 0. */
struct line {
	double level, slope;
	double most; /* that one of them departs from it */
};

static struct line fit(const struct track *track, size_t count)
{
	double n = (double)count, middle = -(n + 1) / 2, sum = 0, moment = 0;
	for (size_t i = 1; i <= count; i++) {
		double load = (double)track_load_un(track, track->count - i);
		sum += load;
		moment += load * (-(double)i - middle);
	}
	struct line line = {.slope = moment / (n * (n * n - 1) / 12)};
	line.level = sum / n - line.slope * middle;
	for (size_t i = 1; i <= count; i++) {
		double load = (double)track_load_un(track, track->count - i);
		line.most = fmax(line.most, fabs(load - (line.level - line.slope * (double)i)));
	}
	return line;
}

/* The sample is so far above the line that no swing of the press has made it. */
static bool departs(const struct brink *brink, const struct track *track, int64_t since_ns,
	const struct sample *sample)
{
	const struct policy *policy = brink->policy;
	size_t count = count_before(brink, track, since_ns);
	if (count < LINE_MIN)
		return false;
	struct line line = fit(track, count);
	double load = (double)sample->load_un;
	double above = load - line.level - line.slope * (double)brink->held_count;
	return above > policy->spike_peak_fraction * load &&
	       above > policy->brink_swings * line.most;
}

/* Without this much of a jump from the reading before, a sample cannot depart: that reading lies
 * within `most` of the line, the sample by more than brink_swings times that above it, and since
 * it is the largest so far the line falls by no more than (above + most) / LINE_MIN from one place
 * to the next. */
static bool jumps(const struct brink *brink, const struct track *track, const struct sample *sample)
{
	const struct policy *policy = brink->policy;
	if (brink->held_count > 0 || track->count == 0)
		return true;
	double most = 1 / policy->brink_swings;
	double least = 1 - most - (1 + most) / LINE_MIN;
	double load = (double)sample->load_un;
	return load - (double)track_load_un(track, track->count - 1) >
	       least * policy->spike_peak_fraction * load;
}

static bool gone(const struct brink *brink, const struct track *track, const struct sample *sample)
{
	double last = (double)track_load_un(track, track->count - 1);
	return (double)sample->load_un < brink->policy->lost_fraction * last;
}

void brink_feed(struct brink *brink, const struct track *track, int64_t since_ns,
	const struct sample *sample, struct spike_out *out)
{
	out->count = out->denied_count = 0;
	if (brink->held_count < BRINK_HELD_MAX && jumps(brink, track, sample) &&
		departs(brink, track, since_ns, sample)) {
		brink->held[brink->held_count++] = *sample;
		return;
	}
	bool denied = brink->held_count > 0 && gone(brink, track, sample);
	for (size_t i = 0; i < brink->held_count; i++) {
		if (denied)
			out->denied[out->denied_count++] = brink->held[i];
		else
			out->passed[out->count++] = brink->held[i];
	}
	brink->held_count = 0;
	out->passed[out->count++] = *sample;
}
