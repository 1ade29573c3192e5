/* SPDX-License-Identifier: MIT
 *
 * Pieces of parabola end to end.
 */
#include "drawing.h"

#include <assert.h>
#include <math.h>

void drawing_init(struct drawing *drawing)
{
	*drawing = (struct drawing){0};
}

static void add(struct drawing *drawing, double seconds, double rate_n_s, double bend_n_s2)
{
	assert(drawing->count < DRAWING_PIECES_MAX && seconds >= 0);
	drawing->pieces[drawing->count++] =
		(struct piece){drawing->end_s, seconds, drawing->load_n, rate_n_s, bend_n_s2};
	drawing->end_s += seconds;
	drawing->load_n += rate_n_s * seconds + bend_n_s2 * seconds * seconds;
}

void drawing_run(struct drawing *drawing, double seconds, double rate_n_s)
{
	add(drawing, seconds, rate_n_s, 0);
}

void drawing_bend(struct drawing *drawing, double seconds, double rate_n_s, double rate_end_n_s)
{
	add(drawing, seconds, rate_n_s, (rate_end_n_s - rate_n_s) / seconds / 2);
}

void drawing_to(struct drawing *drawing, double load_n, double rate_n_s)
{
	double way = load_n - drawing->load_n;
	add(drawing, fabs(way) / rate_n_s, copysign(rate_n_s, way), 0);
}

void drawing_round(struct drawing *drawing, double load_n, double rate_n_s)
{
	drawing_bend(drawing, 2 * (load_n - drawing->load_n) / rate_n_s, rate_n_s, 0);
}

void drawing_jump(struct drawing *drawing, double load_n)
{
	drawing->load_n = load_n;
}

static double piece_load(const struct piece *piece, double time_s)
{
	double t = time_s - piece->start_s;
	return piece->load_n + piece->rate_n_s * t + piece->bend_n_s2 * t * t;
}

double drawing_load(const struct drawing *drawing, double time_s)
{
	size_t i = 0;
	while (i + 1 < drawing->count && time_s >= drawing->pieces[i + 1].start_s)
		i++;
	return piece_load(&drawing->pieces[i], time_s);
}

double drawing_maximum(const struct drawing *drawing, double until_s, double *time_s)
{
	double maximum = -INFINITY;
	for (size_t i = 0; i < drawing->count; i++) {
		const struct piece *piece = &drawing->pieces[i];
		if (piece->start_s > until_s)
			break;
		double ends[2] = {piece->start_s, fmin(piece->start_s + piece->seconds, until_s)};
		for (size_t k = 0; k < 2; k++) {
			if (piece_load(piece, ends[k]) <= maximum + 1e-6)
				continue;
			maximum = piece_load(piece, ends[k]);
			*time_s = ends[k];
		}
	}
	return maximum;
}

double drawing_reach(const struct drawing *drawing, double load_n)
{
	for (size_t i = 0; i < drawing->count; i++) {
		const struct piece *piece = &drawing->pieces[i];
		if (piece->load_n >= load_n)
			return piece->start_s;
		double low = piece->start_s, high = piece->start_s + piece->seconds;
		if (piece_load(piece, high) < load_n)
			continue;
		for (int step = 0; step < 60; step++) { /* pieces that rise do so monotonically */
			double middle = (low + high) / 2;
			if (piece_load(piece, middle) >= load_n)
				high = middle;
			else
				low = middle;
		}
		return high;
	}
	return -1;
}

bool drawing_rates(
	const struct drawing *drawing, double from_s, double to_s, double *least, double *largest)
{
	*least = INFINITY;
	*largest = -INFINITY;
	for (size_t i = 0; i < drawing->count; i++) {
		const struct piece *piece = &drawing->pieces[i];
		double start_s = fmax(from_s, piece->start_s);
		double end_s = fmin(to_s, piece->start_s + piece->seconds);
		if (start_s >= end_s)
			continue;
		double before = i > 0 ? piece_load(piece - 1, piece->start_s) : piece->load_n;
		if (piece->start_s > from_s && fabs(piece->load_n - before) > 1e-3)
			return false;
		double ends[2] = {start_s - piece->start_s, end_s - piece->start_s};
		for (size_t k = 0; k < 2; k++) {
			double rate = piece->rate_n_s + 2 * piece->bend_n_s2 * ends[k];
			*least = fmin(*least, rate);
			*largest = fmax(*largest, rate);
		}
	}
	return *largest >= *least;
}

/* The integral of (t - middle) times the load over part of a piece; t and middle from its start. */
static double moment(const struct piece *piece, double from, double to, double middle)
{
	double a = piece->load_n, b = piece->rate_n_s, c = piece->bend_n_s2;
	double first = -middle * a * (to - from);
	double second = (a - middle * b) * (to * to - from * from) / 2;
	double third = (b - middle * c) * (pow(to, 3) - pow(from, 3)) / 3;
	return first + second + third + c * (pow(to, 4) - pow(from, 4)) / 4;
}

double drawing_slope(const struct drawing *drawing, double start_s, double length_s)
{
	double middle_s = start_s + length_s / 2, sum = 0;
	for (size_t i = 0; i < drawing->count; i++) {
		const struct piece *piece = &drawing->pieces[i];
		double from_s = fmax(start_s, piece->start_s);
		double to_s = fmin(start_s + length_s, piece->start_s + piece->seconds);
		if (from_s < to_s)
			sum += moment(piece, from_s - piece->start_s, to_s - piece->start_s,
				middle_s - piece->start_s);
	}
	return 12 * sum / pow(length_s, 3);
}
