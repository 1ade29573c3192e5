/* SPDX-License-Identifier: MIT
 *
 * Quantities as people read them: in kN and MPa, or in lbf and psi where the method is an
 * inch-pound one, with as many digits as are of use. Only for reading: nothing is computed or
 * reported from these texts.
 */
#ifndef DRAW_SHOWN_H
#define DRAW_SHOWN_H

#include "base/text.h"

#include <stdbool.h>

enum shown_quantity {
	SHOWN_LOAD,
	SHOWN_STRESS,
	SHOWN_RATE,
	SHOWN_RATE_LIVE, /* coarser: the last digit of a rate that is being watched only flickers */
};

struct shown_unit {
	const char *text; /* "kN" */
	double si;        /* one of it in N, Pa or Pa/s */
	int places;       /* decimals shown */
};

/* Static. */
const struct shown_unit *shown_unit(enum shown_quantity quantity, bool inch_pound);

struct method;
/* In which the stress rate of the method's runs is shown: a second or a minute, as it limits it.
 * Static. */
const struct shown_unit *shown_rate_unit(const struct method *method);
/* A limit of it, which has one decimal less than what is measured. */
void shown_rate_limit(const struct method *method, double rate_pa_s, struct text *text);

/* True where the method of that name is shown in inch-pound units. */
bool shown_inch_pound(const char *method);

/* "123.4", value in SI. */
void shown_number(enum shown_quantity quantity, bool inch_pound, double value, struct text *text);
/* "123.4 kN" */
void shown_put(enum shown_quantity quantity, bool inch_pound, double value, struct text *text);

#endif
