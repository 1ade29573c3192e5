/* SPDX-License-Identifier: MIT
 *
 * From a reading's digits to a load: unit, factor, zero. The scale in force is stored with every
 * run. load = value x unit x factor - zero.
 */
#ifndef MEASURE_SCALE_H
#define MEASURE_SCALE_H

#include "measure/reading.h"

struct scale {
	enum unit unit; /* expected on the wire, or assumed where the line carries none */
	/* 1 unless configured, e.g. for a lever. It makes a force of what is none: the area in
	 * square metres that a pressure acts on, newtons a count or a mV/V. */
	struct decimal factor;
	int64_t zero_un; /* subtracted after scaling; 0 unless a zero was recorded */
};

enum scale_error {
	SCALE_OK,
	SCALE_WRONG_UNIT, /* the line carries another unit than the config expects */
	SCALE_PRESSURE,   /* the same, and it is a pressure */
	SCALE_TOO_LARGE,  /* beyond what the program represents */
	SCALE_NOT_VALID,  /* the cell marked its value as over, under or wrong */
	SCALE_NO_ZERO,    /* the cell says that it has not found its zero */
};

enum scale_error scale_apply(
	const struct scale *scale, const struct reading *reading, int64_t *load_un);
/* The form that a cell's readings have come in last, and what a digit of it is worth; 0: nothing
 * that is known. */
struct scale_form {
	enum unit unit;
	int exponent;
	int64_t digit_un;
};

/* Like scale_apply, at less than half its cost where the form is that of the reading before. */
enum scale_error scale_apply_next(const struct scale *scale, struct scale_form *form,
	const struct reading *reading, int64_t *load_un);
/* Static text: what is wrong and what to do. */
const char *scale_error_text(enum scale_error error);

#endif
