/* SPDX-License-Identifier: MIT
 *
 * Choice of ticks: the smallest step of the series 1, 2, 5, 10, ... that needs no more ticks than
 * allowed.
 */
#include "draw/axis.h"

#include "base/decimal.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>

/* Beyond these powers of ten nothing is drawn that a press could have measured. */
enum { EXPONENT_LEAST = -12, EXPONENT_MOST = 15 };

static double step_of(int mantissa, int exponent)
{
	/* A division by an exact power of ten gives 0.2 where a multiplication by 1e-1 does not. */
	return exponent >= 0 ? mantissa * pow(10, exponent) : mantissa / pow(10, -exponent);
}

/* A tick that binary noise puts a hair outside the range still counts as inside. */
static const double tick_slack = 1e-9;

static int64_t tick_at_or_below(double value, double step)
{
	return (int64_t)floor(value / step + tick_slack);
}

static int64_t tick_at_or_above(double value, double step)
{
	return (int64_t)ceil(value / step - tick_slack);
}

static void make_plausible(double *low, double *high)
{
	if (!isfinite(*low))
		*low = 0;
	if (!isfinite(*high) || *high <= *low)
		*high = *low + 1;
}

static void fit(struct axis *axis, double low, double high, size_t ticks_max, bool widen)
{
	static const int mantissas[] = {1, 2, 5};
	int exponent = (int)floor(log10((high - low) / (double)ticks_max)) - 1;
	if (exponent < EXPONENT_LEAST)
		exponent = EXPONENT_LEAST;
	for (size_t i = 0; exponent <= EXPONENT_MOST; i++) {
		axis->mantissa = mantissas[i % 3];
		axis->exponent = exponent + (int)(i / 3);
		double step = step_of(axis->mantissa, axis->exponent);
		axis->first = widen ? tick_at_or_below(low, step) : tick_at_or_above(low, step);
		axis->last = widen ? tick_at_or_above(high, step) : tick_at_or_below(high, step);
		if (axis->last - axis->first < (int64_t)ticks_max)
			break;
	}
	axis->low = low;
	axis->high = high;
	if (widen) {
		axis->low = axis_tick(axis, axis->first);
		axis->high = axis_tick(axis, axis->last);
	}
}

void axis_fit(struct axis *axis, double low, double high, size_t ticks_max)
{
	assert(ticks_max >= 2);
	make_plausible(&low, &high);
	fit(axis, low, high, ticks_max, true);
	assert(axis->low < axis->high);
}

void axis_fit_tight(struct axis *axis, double low, double high, size_t ticks_max)
{
	assert(ticks_max >= 2);
	make_plausible(&low, &high);
	fit(axis, low, high, ticks_max, false);
	assert(axis->low < axis->high);
}

double axis_tick(const struct axis *axis, int64_t index)
{
	if (axis->exponent >= 0)
		return (double)(index * axis->mantissa) * pow(10, axis->exponent);
	return (double)(index * axis->mantissa) / pow(10, -axis->exponent);
}

void axis_label(const struct axis *axis, int64_t index, char *text)
{
	int64_t digits = index * axis->mantissa;
	for (int i = 0; i < axis->exponent; i++)
		digits *= 10;
	decimal_text(digits, axis->exponent < 0 ? -axis->exponent : 0, text);
}

double axis_fraction(const struct axis *axis, double value)
{
	return (value - axis->low) / (axis->high - axis->low);
}
