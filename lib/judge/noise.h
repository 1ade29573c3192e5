/* SPDX-License-Identifier: MIT
 *
 * How far a window's slope can be off: the run's own noise, resolution and hunting, measured from
 * its samples.
 *
 * Residuals of a press are not white. Three parts are added in quadrature:
 * - white noise: from second differences of the samples (a ramp leaves none of itself in them) and
 *   of means over 2, 4, 8 of them, the least of all, since a ripple is in the short ones only;
 *   error sigma / sqrt(sum (t - mean t)^2), the ordinary standard error;
 * - resolution q: a staircase under a ramp with N steps in the window W moves the slope by about
 *   0.95 q / (N W) and never by more than 1.5 q / W; noise of standard deviation s before rounding
 *   makes the mean of what is rounded straight and leaves exp(-2 pi^2 s^2 / q^2) of the staircase
 *   (the first harmonic of the rounding error, under Gaussian dither: Widrow and Kollar,
 *   Quantization Noise, 2008; from memory);
 * - hunting: for swings that are fast against W, integration by parts of the least-squares weights
 *   leaves only the ends of the window: error = 6 / W^2 (Y(start) + Y(end)), where Y is the
 *   integral of the swing over time. So the mean square of Y about the two ends gives the standard
 *   error; for a pure sine the worst case is exactly twice it. Swings slower than policy.hunting_s
 *   are the rate itself and are taken out (moving average) before, and Y is corrected for what
 *   that leaves of a swing of its frequency. A kink or a step is no swing: Y^2 is never more than
 *   burst_square times what the median departure from a straight line has.
 */
#ifndef JUDGE_NOISE_H
#define JUDGE_NOISE_H

#include "judge/policy.h"
#include "judge/track.h"

enum { NOISE_BLOCKS_MAX = 2048 };

struct noise {
	double white_n;   /* standard deviation of a sample */
	double swing_n;   /* standard deviation of the hunting */
	double step_n;    /* finest change seen */
	int64_t start_ns; /* of the first block */
	int64_t block_ns;
	size_t block_count;
	double burst_square; /* policy.burst_square */
	double usual_square; /* lower quartile of the mean square below: a kink is no swing */
	double swing_gain;   /* what measuring leaves of the integral of a swing */
	double stair_left;   /* what noise before rounding leaves of the staircase, 0 to 1 */
	double square[NOISE_BLOCKS_MAX]; /* local mean square of Y, in (N s)^2 */
	double scratch[NOISE_BLOCKS_MAX];
};

/* Measures the samples [from, to] of the track. O(samples). */
void noise_measure(struct noise *noise, const struct track *track, size_t from, size_t to,
	const struct policy *policy);
/* Standard error of the slope of a window, in N/s; missing: share of the window without readings.
 */
double noise_error(const struct noise *noise, const struct slope_fit *fit, int64_t start_ns,
	int64_t end_ns, double missing);

#endif
