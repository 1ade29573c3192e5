/* SPDX-License-Identifier: MIT
 *
 * The values of a method's file taken apart: numbers with units, ranges, parts with ':' between.
 * Internal to lib/result.
 */
#ifndef RESULT_METHOD_VALUES_H
#define RESULT_METHOD_VALUES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { METHOD_PARTS_MAX = 4 };

/* value x times / divided; two numbers, so that "20 %" is the double nearest to 0.2. */
struct method_unit {
	const char *text; /* NULL: the end of a list */
	double times, divided;
};

extern const struct method_unit method_units_none[];    /* a bare number */
extern const struct method_unit method_units_length[];  /* micrometres */
extern const struct method_unit method_units_share[];   /* "20 %" is 0.2 */
extern const struct method_unit method_units_percent[]; /* "20 %" is 20 */
extern const struct method_unit method_units_angle[];   /* degrees */
extern const struct method_unit method_units_time[];    /* seconds */
extern const struct method_unit method_units_stress[];  /* pascals */

/* "0.25 mm": positive, a unit of the list. */
bool method_value(const char *text, const struct method_unit *units, double *value);
/* "10 to 40 MPa": the unit once, low < high. */
bool method_value_range(
	const char *text, const struct method_unit *units, double *low, double *high);
/* A whole number from 1 to high. */
bool method_value_count(const char *text, int high, int *value);
/* "0.1 MPa": the step as step x 10^exponent, and where the unit begins. */
bool method_value_step(const char *text, int *step, int *exponent, const char **unit);
/* Cuts text at each ':' with blanks beside it; gives how many parts, at most METHOD_PARTS_MAX: the
 * last one keeps the rest. */
size_t method_value_parts(char *text, char *parts[METHOD_PARTS_MAX]);

#endif
