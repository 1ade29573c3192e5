/* SPDX-License-Identifier: MIT
 *
 * White noise, resolution and hunting of one run; see noise.h for the reasoning.
 */
#include "judge/noise.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

/* What two moving averages of hunting_s leave of a swing at 1 Hz: all swings were taken for such by
 * rules before 4. */
static const double filter_gain = 0.76;

/* Mean absolute value to standard deviation of a normal distribution, sqrt(pi/2); a second
 * difference y1 - (y0 + y2)/2 has 1.5 times the variance of a sample. */
static const double mean_to_deviation = 1.2533141373155;
static const double second_difference_scale = 1.2533141373155 / 1.2247448713916;

/* By rules before 4: from the samples as they are, as if all of a ripple were noise. */
static void measure_white(struct noise *noise, const struct track *track, size_t from, size_t to)
{
	double sum = 0;
	size_t count = 0;
	for (size_t i = from + 1; i < to; i++) {
		struct slope_point last = track_at(track, i - 1), now = track_at(track, i),
				   next = track_at(track, i + 1);
		double span = (double)(next.time_ns - last.time_ns);
		if (span <= 0)
			continue;
		double share = (double)(now.time_ns - last.time_ns) / span;
		double rise = (double)(next.load_un - last.load_un);
		sum += fabs((double)(now.load_un - last.load_un) - share * rise);
		count++;
	}
	noise->white_n = count > 0 ? sum / (double)count * second_difference_scale * 1e-6 : 0;
}

/* The finest change among samples that come one after the other. */
struct finest {
	bool any;
	int64_t last_un, step_un;
};

static void feed_finest(struct finest *finest, const struct slope_point *points, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		int64_t change = llabs(points[i].load_un - finest->last_un);
		if (finest->any && change > 0 && (finest->step_un == 0 || change < finest->step_un))
			finest->step_un = change;
		finest->any = true;
		finest->last_un = points[i].load_un;
	}
}

/* Second differences of means over so many samples: each octave makes the next by pairs. */
struct octave {
	bool half; /* one mean waits for the other of its pair */
	double half_s, half_n;
	size_t count;                /* means so far */
	double time_s[2], load_n[2]; /* the newest two, the older one first */
	double sum;                  /* of their departures, as standard deviations of a mean */
};

enum { OCTAVES = 12, OCTAVE_COUNT_MIN = 32 };
/* How far the mean of so many overlapping differences may be off: this much by their root. */
static const double octave_doubt = 2;

/* Takes a mean in; true if it made a pair, whose mean then replaces it. */
static bool octave_take(struct octave *octave, double *time_s, double *load_n)
{
	if (octave->count >= 2) {
		double span_s = *time_s - octave->time_s[0];
		double share = span_s > 0 ? (octave->time_s[1] - octave->time_s[0]) / span_s : 0;
		double off = octave->load_n[1] - octave->load_n[0] -
			     share * (*load_n - octave->load_n[0]);
		octave->sum += fabs(off) / sqrt(1 + share * share + (1 - share) * (1 - share));
	}
	octave->time_s[0] = octave->time_s[1];
	octave->load_n[0] = octave->load_n[1];
	octave->time_s[1] = *time_s;
	octave->load_n[1] = *load_n;
	octave->count++;
	if (!octave->half) {
		octave->half_s = *time_s;
		octave->half_n = *load_n;
		octave->half = true;
		return false;
	}
	octave->half = false;
	*time_s = (*time_s + octave->half_s) / 2;
	*load_n = (*load_n + octave->half_n) / 2;
	return true;
}

static void feed_octaves(struct octave octaves[OCTAVES], struct slope_point first,
	const struct slope_point *points, size_t count)
{
	for (size_t i = 0; i < count; i++) {
		double time_s = (double)(points[i].time_ns - first.time_ns) * 1e-9;
		double load_n = (double)(points[i].load_un - first.load_un) * 1e-6;
		size_t k = 0;
		while (k < OCTAVES && octave_take(&octaves[k], &time_s, &load_n))
			k++;
	}
}

/* White noise is as strong whatever it is averaged over, a ripple is not: the least of all octaves
 * is the noise. */
static void read_octaves(struct noise *noise, const struct octave octaves[OCTAVES])
{
	double finest = 0;
	for (size_t k = 0; k < OCTAVES; k++) {
		if (octaves[k].count < (k == 0 ? 3 : OCTAVE_COUNT_MIN))
			break;
		double count = (double)(octaves[k].count - 2);
		double mean = octaves[k].sum / count * mean_to_deviation;
		double white = mean * sqrt((double)(1u << k));
		/* of few differences a small mean is chance */
		white *= 1 + octave_doubt / sqrt(count);
		noise->white_n = k == 0 ? white : fmin(noise->white_n, white);
		finest = k == 0 ? mean : finest;
	}
	/* no more than the samples show, no less than they are rounded by */
	noise->white_n = fmax(noise->white_n, noise->step_n / sqrt(12));
	noise->white_n = fmin(noise->white_n, finest);
}

/* How much of the staircase is left. */
static double stair_left(const struct noise *noise)
{
	double rounding = noise->step_n * noise->step_n / 12;
	double before = noise->white_n * noise->white_n - rounding;
	return before > 0 ? exp(-2 * pi * pi * before / (noise->step_n * noise->step_n)) : 1;
}

/* Mean load of each block, moved along the run's ramp to the block's middle. */
struct filling {
	struct slope_point first;
	double ramp;
	size_t block; /* the one that is being summed; and up to where the means are there */
	size_t filled;
	bool any;
	size_t count;
	double sum;
};

/* Empty blocks get the straight line between their neighbours. */
static void end_block(struct filling *filling, double *mean)
{
	size_t k = filling->block++, filled = filling->filled;
	if (filling->count == 0)
		return;
	mean[k] = filling->sum / (double)filling->count * 1e-6;
	for (size_t gap = filling->any ? filled + 1 : 0; gap < k; gap++) {
		double share = filling->any ? (double)(gap - filled) / (double)(k - filled) : 1;
		mean[gap] =
			filling->any ? mean[filled] + share * (mean[k] - mean[filled]) : mean[k];
	}
	filling->filled = k;
	filling->any = true;
	filling->count = 0;
	filling->sum = 0;
}

static void feed_blocks(struct noise *noise, struct filling *filling,
	const struct slope_point *points, size_t count)
{
	double middle = (double)noise->block_ns / 2;
	for (size_t i = 0; i < count && filling->block < noise->block_count;) {
		int64_t start = noise->start_ns + (int64_t)filling->block * noise->block_ns;
		double sum = filling->sum;
		size_t from = i;
		for (; i < count && points[i].time_ns < start + noise->block_ns; i++) {
			double off = middle - (double)(points[i].time_ns - start);
			sum += (double)(points[i].load_un - filling->first.load_un) +
			       filling->ramp * off;
		}
		filling->sum = sum;
		filling->count += i - from;
		if (i < count)
			end_block(filling, noise->square);
	}
}

/* All that goes over the samples, in one passage: to unpack them is most of it. */
static void measure_samples(struct noise *noise, const struct track *track, size_t from, size_t to,
	const struct policy *policy)
{
	struct slope_point first = track_at(track, from), last = track_at(track, to);
	struct finest finest = {.any = false};
	struct octave octaves[OCTAVES] = {0};
	struct filling filling = {.first = first,
		.ramp = (double)(last.load_un - first.load_un) /
			(double)(last.time_ns - first.time_ns)};
	size_t count;
	for (size_t i = from; i <= to; i += count) {
		const struct slope_point *points = track_stretch(track, i, to + 1, &count);
		feed_finest(&finest, points, i + count > to ? count - 1 : count);
		feed_blocks(noise, &filling, points, count);
		if (policy->rules >= 4)
			feed_octaves(octaves, first, points, count);
	}
	noise->step_n = (double)finest.step_un * 1e-6;
	if (policy->rules >= 4)
		read_octaves(noise, octaves);
	else
		measure_white(noise, track, from, to);
	if (filling.block < noise->block_count)
		end_block(&filling, noise->square);
	noise->block_count = filling.any ? filling.filled + 1 : 0;
}

/* out[k] = in[k] - mean of in over k-half..k+half, symmetric, shorter at the ends. */
static void remove_slow(const double *in, double *out, size_t count, size_t half)
{
	double sum = 0;
	size_t lo = 0, hi = 0; /* sum over [lo, hi) */
	for (size_t k = 0; k < count; k++) {
		size_t reach = half;
		reach = k < reach ? k : reach;
		reach = count - 1 - k < reach ? count - 1 - k : reach;
		while (hi < k + reach + 1)
			sum += in[hi++];
		while (lo < k - reach)
			sum -= in[lo++];
		out[k] = in[k] - sum / (double)(hi - lo);
	}
}

/* The one that would be the nth, from 0, if they were sorted. Leaves them in another order. */
static double pick(double *values, size_t count, size_t nth)
{
	size_t low = 0, high = count - 1;
	while (low < high) {
		double middle = values[low + (high - low) / 2];
		size_t i = low, j = high;
		for (;; i++, j--) {
			while (values[i] < middle)
				i++;
			while (values[j] > middle)
				j--;
			if (i >= j)
				break;
			double other = values[i];
			values[i] = values[j];
			values[j] = other;
		}
		if (nth <= j)
			high = j;
		else
			low = j + 1;
	}
	return values[nth];
}

/* Mean square of `in` over k-half..k+half; the ends repeat the nearest full stretch. */
static void mean_squares(const double *in, double *out, size_t count, size_t half)
{
	size_t first = half < count / 2 ? half : count / 2;
	size_t last = count - 1 - first;
	for (size_t k = first; k <= last; k++) {
		double sum = 0;
		size_t from = k > half ? k - half : 0;
		size_t to = k + half < count ? k + half : count - 1;
		for (size_t i = from; i <= to; i++)
			sum += in[i] * in[i];
		out[k] = sum / (double)(to - from + 1);
	}
	for (size_t k = 0; k < first; k++)
		out[k] = out[first];
	for (size_t k = last + 1; k < count; k++)
		out[k] = out[last];
}

enum { CORRECTION_STEPS = 8 }; /* four leave a hundredth */

/* What a moving average over time_s, taken off, leaves of a swing. */
static double left_of_swing(double hz, double time_s)
{
	double turn = pi * hz * time_s;
	return 1 - sin(turn) / turn;
}

/* The measured integral of a swing against the true one: the moving averages and the sum over
 * blocks pass no frequency quite as it is. Which one it is, the swing tells by its integral. */
static double swing_gain(
	double swing_n, double integral_n_s, double block_s, size_t half, double slowest_hz)
{
	if (swing_n <= 0 || integral_n_s <= 0)
		return 1;
	double turn = asin(fmin(1, swing_n * block_s / 2 / integral_n_s)); /* pi f block_s */
	double seen_hz = turn / pi / block_s, hz = seen_hz, left = 1;
	/* the integral went through one moving average more than the swing */
	for (int i = 0; i < CORRECTION_STEPS; i++) {
		left = left_of_swing(hz, (double)(2 * half + 1) * block_s);
		hz = fmax(seen_hz * left, slowest_hz);
	}
	return left * left * turn / sin(turn);
}

/* Usual mean square of the integral of a swing, from how the load departs from the straight line
 * between its neighbours a time apart. Unlike a moving average it sees a kink or a step nowhere
 * else than where it is, and the median over the run does not see it at all. A time of half a
 * period shows the whole of a swing, another one less: the largest of some is taken. */
static double straight_square(const double *mean, double *scratch, size_t count, double block_s)
{
	static const double apart_s[] = {0.2, 0.4, 0.8}; /* 2.5 Hz to 0.6 Hz */
	double largest = 0;
	for (size_t i = 0; i < sizeof apart_s / sizeof apart_s[0]; i++) {
		size_t apart = (size_t)fmax(1, round(apart_s[i] / block_s));
		size_t n = 0;
		for (size_t k = apart; k + apart < count; k++, n++)
			scratch[n] = pow(2 * mean[k] - mean[k - apart] - mean[k + apart], 2);
		if (n == 0)
			continue;
		double usual = pick(scratch, n, n / 2);
		largest = fmax(largest, usual / 16 * pow((double)apart * block_s / pi, 2));
	}
	return largest;
}

static void measure_hunting(struct noise *noise, const struct policy *policy)
{
	size_t count = noise->block_count;
	double block_s = (double)noise->block_ns * 1e-9;
	size_t half = (size_t)(policy->hunting_s / 2 / block_s + 0.5);
	if (half < 1)
		half = 1;
	if (count < 2 * half + 1) {
		memset(noise->square, 0, sizeof noise->square);
		return;
	}
	double straight = straight_square(noise->square, noise->scratch, count, block_s);
	remove_slow(noise->square, noise->scratch, count, half);
	double integral = 0, squares = 0, integrals = 0;
	for (size_t k = 0; k < count; k++) {
		squares += noise->scratch[k] * noise->scratch[k];
		integral += noise->scratch[k] * block_s;
		noise->scratch[k] = integral;
	}
	noise->swing_n = sqrt(squares / (double)count);
	remove_slow(noise->scratch, noise->square, count, half);
	for (size_t k = 0; k < count; k++)
		integrals += noise->square[k] * noise->square[k];
	mean_squares(noise->square, noise->scratch, count, half);
	memcpy(noise->square, noise->scratch, count * sizeof noise->square[0]);
	noise->usual_square = pick(noise->scratch, count, count / 4);
	if (policy->rules < 4)
		return;
	noise->swing_gain = swing_gain(noise->swing_n, sqrt(integrals / (double)count), block_s,
		half, 1 / policy->hunting_s);
	noise->usual_square = fmin(noise->usual_square, straight);
}

void noise_measure(struct noise *noise, const struct track *track, size_t from, size_t to,
	const struct policy *policy)
{
	assert(from < to && to < track->count);
	int64_t span_ns = track_time_ns(track, to) - track_time_ns(track, from);
	/* a block shorter than the usual interval would mostly be empty */
	int64_t block_ns = span_ns / (int64_t)(to - from);
	int64_t least_ns = (int64_t)(policy->block_s * 1e9);
	block_ns = block_ns > least_ns ? block_ns : least_ns;
	if (span_ns / block_ns >= NOISE_BLOCKS_MAX)
		block_ns = span_ns / (NOISE_BLOCKS_MAX - 1) + 1;
	*noise = (struct noise){
		.start_ns = track_time_ns(track, from),
		.block_ns = block_ns,
		.burst_square = policy->burst_square,
		.swing_gain = filter_gain,
		.block_count = (size_t)(span_ns / block_ns) + 1,
	};
	measure_samples(noise, track, from, to, policy);
	noise->stair_left = policy->rules >= 4 && noise->step_n > 0 ? stair_left(noise) : 1;
	measure_hunting(noise, policy);
}

/* Local mean square at a time, never below the run's usual one: a few quiet seconds are luck. */
static double square_at(const struct noise *noise, int64_t time_ns)
{
	if (noise->block_count == 0)
		return 0;
	int64_t k = (time_ns - noise->start_ns) / noise->block_ns;
	k = k < 0 ? 0 : k;
	size_t i = (size_t)k < noise->block_count ? (size_t)k : noise->block_count - 1;
	return fmin(fmax(noise->square[i], noise->usual_square),
		noise->burst_square * noise->usual_square);
}

double noise_error(const struct noise *noise, const struct slope_fit *fit, int64_t start_ns,
	int64_t end_ns, double missing)
{
	double window_s = (double)(end_ns - start_ns) * 1e-9;
	double white = noise->white_n / fit->time_spread_s;
	double steps =
		noise->step_n > 0 ? fabs(fit->rate_n_s) * window_s / noise->step_n : INFINITY;
	double stair = noise->step_n / window_s * fmin(0.75, 0.7 / steps) * noise->stair_left;
	double swing = square_at(noise, start_ns) + square_at(noise, end_ns);
	double hunting = 6 / noise->swing_gain / (window_s * window_s) * sqrt(swing);
	double unseen = 2 * missing * noise->swing_n / window_s;
	return sqrt(white * white + stair * stair + hunting * hunting + unseen * unseen);
}
