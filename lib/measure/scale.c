/* SPDX-License-Identifier: MIT
 *
 * From digits to micronewtons, in exact decimal arithmetic.
 */
#include "measure/scale.h"

#include <assert.h>
#include <stdbool.h>

/* Not to be used as a load. */
static const unsigned unusable =
	READING_ZERO_ERROR | READING_OVER | READING_UNDER | READING_INVALID;

enum scale_error scale_apply(
	const struct scale *scale, const struct reading *reading, int64_t *load_un)
{
	if (reading->status & unusable)
		return reading->status & READING_ZERO_ERROR ? SCALE_NO_ZERO : SCALE_NOT_VALID;
	if (reading->unit != UNIT_NONE && reading->unit != scale->unit)
		return units_kind(reading->unit) == UNITS_PRESSURE ? SCALE_PRESSURE
								   : SCALE_WRONG_UNIT;
	if (scale->unit == UNIT_NONE)
		return SCALE_WRONG_UNIT;
	int64_t load;
	if (!units_product_un(scale->unit, reading->value, scale->factor, &load))
		return SCALE_TOO_LARGE;
	if (__builtin_sub_overflow(load, scale->zero_un, &load))
		return SCALE_TOO_LARGE;
	if (load > UNITS_LOAD_UN_MAX || load < -UNITS_LOAD_UN_MAX)
		return SCALE_TOO_LARGE;
	*load_un = load;
	return SCALE_OK;
}

static bool fits(int64_t load)
{
	return load <= UNITS_LOAD_UN_MAX && load >= -UNITS_LOAD_UN_MAX;
}

enum scale_error scale_apply_next(const struct scale *scale, struct scale_form *form,
	const struct reading *reading, int64_t *load_un)
{
	int64_t load;
	if (form->digit_un != 0 && reading->value.exponent == form->exponent &&
		reading->unit == form->unit && (reading->status & unusable) == 0 &&
		!__builtin_mul_overflow(reading->value.mantissa, form->digit_un, &load) &&
		fits(load) && !__builtin_sub_overflow(load, scale->zero_un, &load) && fits(load)) {
		*load_un = load;
		return SCALE_OK;
	}
	enum scale_error error = scale_apply(scale, reading, load_un);
	if (error == SCALE_OK)
		*form = (struct scale_form){reading->unit, reading->value.exponent,
			units_digit_un(scale->unit, reading->value.exponent, scale->factor)};
	return error;
}

const char *scale_error_text(enum scale_error error)
{
	switch (error) {
	case SCALE_OK:
		return "no error";
	case SCALE_WRONG_UNIT:
		return "the cell sends another unit than the config expects: set `unit` in the "
		       "config, or the indicator's unit, so that both agree";
	case SCALE_PRESSURE:
		return "the cell sends a pressure, which is no load: set the indicator to a force, "
		       "or `unit` and `area` in the config to its unit and the ram's area";
	case SCALE_NO_ZERO:
		return "the cell says that it has not found its zero: unload the press, and see "
		       "to the indicator";
	case SCALE_TOO_LARGE:
		return "the load is beyond 100 MN: check `unit` and `factor` in the config";
	case SCALE_NOT_VALID:
		return "the cell marks its value as out of range or wrong: check the cell, its "
		       "cable and its indicator";
	}
	assert(false);
	return "";
}
