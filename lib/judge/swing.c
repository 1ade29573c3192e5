/* SPDX-License-Identifier: MIT
 *
 * A least-squares periodogram over a few hundred points.
 */
#include "judge/swing.h"

#include <math.h>

enum { POINTS_MIN = 8, POINTS_MAX = 256 };

/* Looks at neighbouring frequencies: they part by a quarter of a turn over the whole stretch. */
static const double looks_per_turn = 4;

struct points {
	size_t count;
	double time_s[POINTS_MAX], load[POINTS_MAX];
};

static void gather(struct points *points, const struct track *track, size_t from, size_t to)
{
	struct slope_point first = track_at(track, from);
	size_t size = (to - from) / POINTS_MAX + 1;
	points->count = 0;
	for (size_t i = from; i + size <= to + 1; i += size) {
		double time = 0, load = 0;
		for (size_t k = i; k < i + size; k++) {
			time += (double)(track_time_ns(track, k) - first.time_ns);
			load += (double)(track_load_un(track, k) - first.load_un);
		}
		points->time_s[points->count] = time / (double)size * 1e-9;
		points->load[points->count++] = load / (double)size;
	}
}

/* Takes away the part of the load that is like `part`. */
static void project(double *load, const double *part, size_t count)
{
	double whole = 0, share = 0;
	for (size_t i = 0; i < count; i++) {
		whole += part[i] * part[i];
		share += part[i] * load[i];
	}
	for (size_t i = 0; i < count && whole > 0; i++)
		load[i] -= share / whole * part[i];
}

/* Takes away the parabola. */
static void level(struct points *points)
{
	double powers[3][POINTS_MAX];
	size_t n = points->count;
	double half = points->time_s[n - 1] / 2;
	for (size_t i = 0; i < n; i++) {
		double t = points->time_s[i] / half - 1;
		for (int k = 0; k < 3; k++)
			powers[k][i] = k == 0 ? 1 : powers[k - 1][i] * t;
	}
	for (int k = 0; k < 3; k++) {
		for (int j = 0; j < k; j++)
			project(powers[k], powers[j], n);
		project(points->load, powers[k], n);
	}
}

/* What part of the squares a sine of this frequency explains. */
static double explained(const struct points *points, double hz, double squares)
{
	double ss = 0, cc = 0, sc = 0, sy = 0, cy = 0;
	for (size_t i = 0; i < points->count; i++) {
		double turn = 2 * M_PI * hz * points->time_s[i], y = points->load[i];
		double s = sin(turn), c = cos(turn);
		ss += s * s;
		cc += c * c;
		sc += s * c;
		sy += s * y;
		cy += c * y;
	}
	double size = ss * cc - sc * sc;
	if (size <= 1e-6 * ss * cc)
		return 0;
	return (cc * sy * sy - 2 * sc * sy * cy + ss * cy * cy) / size / squares;
}

double swing_frequency(
	const struct track *track, size_t from, size_t to, const struct policy *policy)
{
	struct points points;
	gather(&points, track, from, to);
	if (points.count < POINTS_MIN)
		return 0;
	double lasted_s = points.time_s[points.count - 1];
	level(&points);
	double squares = 0;
	for (size_t i = 0; i < points.count; i++)
		squares += points.load[i] * points.load[i];
	double high_hz = fmin(policy->quickest_hz, 0.5 * (double)points.count / lasted_s);
	double step_hz = 1 / (looks_per_turn * lasted_s), best_hz = 0, most = 0;
	for (double hz = policy->slowest_hz; hz <= high_hz; hz += step_hz) {
		double share = explained(&points, hz, squares);
		if (share > most) {
			most = share;
			best_hz = hz;
		}
	}
	for (int halving = 0; halving < 4 && best_hz > 0; halving++) {
		step_hz /= 2;
		double middle_hz = best_hz;
		for (int sign = -1; sign <= 1; sign += 2) {
			double share = explained(&points, middle_hz + sign * step_hz, squares);
			if (share > most) {
				most = share;
				best_hz = middle_hz + sign * step_hz;
			}
		}
	}
	return most >= policy->swing_explained ? best_hz : 0;
}
