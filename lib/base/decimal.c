/* SPDX-License-Identifier: MIT
 *
 * Decimal numbers in integers. No strtod, whose answer depends on the locale; printf is used only
 * for the digits of a binary number, which the C library gives correctly rounded.
 */
#include "base/decimal.h"

#include "base/wide.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

enum { DIGITS_MAX = 18, EXPONENT_MAX = 18 };

/* The number while it is read; digits counts the significant ones. */
struct builder {
	int64_t mantissa;
	int digits;
	int exponent;
	bool any;
};

static bool is_digit(char c)
{
	return c >= '0' && c <= '9';
}

/* Takes the digits at text[*at]; places says by how much each one lowers the exponent. */
static bool take_digits(
	struct builder *builder, const char *text, size_t length, size_t *at, int places)
{
	for (; *at < length && is_digit(text[*at]); (*at)++) {
		builder->any = true;
		builder->exponent -= places;
		if (builder->mantissa == 0 && text[*at] == '0')
			continue;
		if (++builder->digits > DIGITS_MAX)
			return false;
		builder->mantissa = builder->mantissa * 10 + (text[*at] - '0');
	}
	return true;
}

/* Reads [+-]digits after the e. More than three digits are out of range anyway. */
static bool take_exponent(struct builder *builder, const char *text, size_t length, size_t *at)
{
	bool negative = *at < length && text[*at] == '-';
	if (*at < length && (text[*at] == '-' || text[*at] == '+'))
		(*at)++;
	int exponent = 0;
	size_t first = *at;
	for (; *at < length && is_digit(text[*at]) && *at - first < 3; (*at)++)
		exponent = exponent * 10 + (text[*at] - '0');
	builder->exponent += negative ? -exponent : exponent;
	return *at > first;
}

bool decimal_parse(const char *text, size_t length, struct decimal *decimal)
{
	struct builder builder = {0};
	size_t at = 0;
	bool negative = length > 0 && text[0] == '-';
	if (length > 0 && (text[0] == '-' || text[0] == '+'))
		at++;
	if (!take_digits(&builder, text, length, &at, 0))
		return false;
	if (at < length && text[at] == '.') {
		at++;
		if (!take_digits(&builder, text, length, &at, 1))
			return false;
	}
	if (!builder.any)
		return false;
	if (at < length && (text[at] == 'e' || text[at] == 'E')) {
		at++;
		if (!take_exponent(&builder, text, length, &at))
			return false;
	}
	if (at != length || builder.exponent < -EXPONENT_MAX || builder.exponent > EXPONENT_MAX)
		return false;
	decimal->mantissa = negative ? -builder.mantissa : builder.mantissa;
	decimal->exponent = builder.exponent;
	return true;
}

bool decimal_scaled(struct decimal decimal, int places, int64_t *scaled)
{
	int shift = decimal.exponent + places;
	wide value = decimal.mantissa;
	/* 2^63 is less than half of 10^20: beyond that nothing is left. */
	if (shift < -20)
		value = 0;
	else if (shift < 0)
		value = wide_divide_even(value, wide_power_of_ten(-shift));
	for (; shift > 0 && value != 0; shift--) {
		if (value > INT64_MAX || value < INT64_MIN)
			return false;
		value *= 10;
	}
	if (value > INT64_MAX || value < INT64_MIN)
		return false;
	*scaled = (int64_t)value;
	return true;
}

double decimal_double(struct decimal decimal)
{
	/* Powers of ten up to 10^22 are exact, so that up to 2^53 only one rounding happens. */
	double power = (double)wide_power_of_ten(
		decimal.exponent < 0 ? -decimal.exponent : decimal.exponent);
	double mantissa = (double)decimal.mantissa;
	return decimal.exponent < 0 ? mantissa / power : mantissa * power;
}

/* value as twelve digits: value = *digits x 10^result. */
static int twelve_digits(double value, wide *digits)
{
	char text[32];
	snprintf(text, sizeof(text), "%.11e", fabs(value));
	wide mantissa = 0;
	const char *at = text;
	for (; *at != 'e'; at++) { /* whatever the locale's decimal point is, it is no digit */
		if (is_digit(*at))
			mantissa = mantissa * 10 + (*at - '0');
	}
	bool negative = at[1] == '-';
	int exponent = 0;
	for (at += 2; is_digit(*at); at++)
		exponent = exponent * 10 + (*at - '0');
	*digits = value < 0 ? -mantissa : mantissa;
	return (negative ? -exponent : exponent) - 11;
}

int64_t decimal_round_even(double value, int step, int exponent)
{
	assert(isfinite(value));
	assert(step > 0);
	wide digits;
	int shift = twelve_digits(value, &digits) - exponent;
	/* 10^12 is less than half of a step of 10^13. */
	if (shift < -12)
		return 0;
	wide steps = 0;
	if (shift < 0) {
		steps = wide_divide_even(digits, step * wide_power_of_ten(-shift));
	} else if (digits != 0) {
		assert(shift <= 18);
		steps = wide_divide_even(digits * wide_power_of_ten(shift), step);
	}
	assert(steps >= INT64_MIN && steps <= INT64_MAX);
	return (int64_t)steps;
}

size_t decimal_text(int64_t scaled, int places, char *text)
{
	assert(places >= 0 && places <= 18);
	/* Backwards, from the last digit; at least one digit stands before the point. */
	char reversed[24];
	size_t length = 0;
	uint64_t rest = scaled < 0 ? 0 - (uint64_t)scaled : (uint64_t)scaled;
	for (int digit = 0; digit <= places || rest > 0; digit++) {
		if (digit == places && places > 0)
			reversed[length++] = '.';
		reversed[length++] = (char)('0' + rest % 10);
		rest /= 10;
	}
	if (scaled < 0)
		reversed[length++] = '-';
	for (size_t i = 0; i < length; i++)
		text[i] = reversed[length - 1 - i];
	text[length] = '\0';
	return length;
}
