/* SPDX-License-Identifier: MIT
 *
 * A least-squares periodogram over a few hundred points.
 */
#include "judge/swing.h"

#include "base/turn.h"
#include "judge/chunk.h"

#include <math.h>

enum { POINTS_MIN = 8, POINTS_MAX = SWING_POINTS_MAX };

/* Looks at neighbouring frequencies: they part by a quarter of a turn over the whole stretch. */
static const double looks_per_turn = 4;

static void gather(struct swing_points *points, const struct track *track, size_t from, size_t to)
{
	struct slope_point first = track_at(track, from);
	double pace_ns = chunk_pace(track, to);
	size_t size = (to - from) / POINTS_MAX + 1;
	points->count = 0;
	points->size = size;
	for (size_t i = from; i + size <= to + 1; i += size) {
		double time = 0, load = 0;
		for (size_t k = i; k < i + size; k++) {
			time += (double)(chunk_taken(track, k, pace_ns) - first.time_ns);
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
static void level(struct swing_points *points)
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

/* The sine and the cosine of a frequency at each point. */
struct waves {
	double sine[POINTS_MAX], cosine[POINTS_MAX];
};

static void set_waves(struct waves *waves, const struct swing_points *points, double hz)
{
	for (size_t i = 0; i < points->count; i++) {
		struct turn_wave wave = turn_wave(hz * points->time_s[i]);
		waves->sine[i] = wave.sine;
		waves->cosine[i] = wave.cosine;
	}
}

/* What a sine of this frequency explains of the squares of the loads; and the waves move on to that
 * of a frequency higher by that of `step`, which costs less than to set them. */
static double explained(
	struct waves *waves, const struct waves *step, const struct swing_points *points)
{
	double cc = 0, sc = 0, sy = 0, cy = 0;
	for (size_t i = 0; i < points->count; i++) {
		double s = waves->sine[i], c = waves->cosine[i], y = points->load[i];
		cc += c * c;
		sc += s * c;
		sy += s * y;
		cy += c * y;
		waves->sine[i] = s * step->cosine[i] + c * step->sine[i];
		waves->cosine[i] = c * step->cosine[i] - s * step->sine[i];
	}
	double ss = (double)points->count - cc, size = ss * cc - sc * sc;
	if (size <= 1e-6 * ss * cc)
		return 0;
	return (cc * sy * sy - 2 * sc * sy * cy + ss * cy * cy) / size;
}

static double lasted_s(const struct swing_points *points)
{
	return points->time_s[points->count - 1] - points->time_s[0];
}

double swing_seen_hz(double hz, double pace_hz)
{
	return fabs(hz - pace_hz * round(hz / pace_hz));
}

/* A sine, and what it explains of the squares. */
struct sine {
	double hz, squares;
};

static struct sine strongest_between(
	const struct swing_points *points, double low_hz, double high_hz, double slowest_hz)
{
	double pace_hz = (double)(points->count - 1) / lasted_s(points);
	double step_hz = 1 / (looks_per_turn * lasted_s(points));
	struct sine best = {0};
	struct waves waves, step;
	set_waves(&waves, points, low_hz);
	set_waves(&step, points, step_hz);
	for (double hz = low_hz; hz <= high_hz; hz += step_hz) {
		double squares = explained(&waves, &step, points);
		if (swing_seen_hz(hz, pace_hz) >= slowest_hz && squares > best.squares)
			best = (struct sine){hz, squares};
	}
	for (int halving = 0; halving < 4 && best.hz > 0; halving++) {
		step_hz /= 2;
		double middle_hz = best.hz;
		for (int sign = -1; sign <= 1; sign += 2) {
			double hz = middle_hz + sign * step_hz;
			set_waves(&waves, points, hz);
			double squares = explained(&waves, &step, points);
			if (squares > best.squares)
				best = (struct sine){hz, squares};
		}
	}
	return best;
}

double swing_strongest(
	const struct swing_points *points, const struct policy *policy, double *share)
{
	double pace_hz = (double)(points->count - 1) / lasted_s(points), squares = 0;
	for (size_t i = 0; i < points->count; i++)
		squares += points->load[i] * points->load[i];
	double high_hz = fmin(policy->quickest_hz, pace_hz / 2), slow_hz = policy->slowest_hz;
	struct sine best = strongest_between(points, slow_hz, high_hz, slow_hz);
	/* means have nothing of a swing that is quicker than they are far apart */
	if (points->size == 1) {
		struct sine ripple = strongest_between(points, high_hz, policy->ripple_hz, slow_hz);
		if ((squares - ripple.squares) * policy->swing_clear < squares - best.squares)
			best = ripple;
	}
	*share = squares > 0 ? best.squares / squares : 0;
	return best.hz;
}

double swing_frequency(
	const struct track *track, size_t from, size_t to, const struct policy *policy)
{
	struct swing_points points;
	gather(&points, track, from, to);
	if (points.count < POINTS_MIN)
		return 0;
	level(&points);
	double share, hz = swing_strongest(&points, policy, &share);
	return share >= policy->swing_explained ? hz : 0;
}
