/* SPDX-License-Identifier: MIT
 *
 * Runs as a laboratory has them, for what is shown over weeks and on paper: an approach, a
 * changeover at half the anticipated load, a regulator that hunts, a specimen that softens and
 * breaks. Judged and stored as the daemon does it. The same description gives the same bytes.
 */
#ifndef TESTS_UNIT_TOOLS_SYNTHETIC_H
#define TESTS_UNIT_TOOLS_SYNTHETIC_H

#include "store/store.h"

struct synthetic {
	const char *press, *specimen, *set, *method;
	const char *technician; /* who enters the fracture type; NULL: nobody */
	int fracture;
	double crack_mm; /* of a beam: from the nearer support; 0: not measured */
	const char *note;
	double strength_mpa, anticipated_mpa;
	double diameter_mm, length_mm;
	enum shape shape;                  /* but for a cylinder with these faces: */
	double faces_mm[2];                /* length_mm is then the height, or the span */
	double approach_mpa_s, rate_mpa_s; /* before and after the changeover */
	double overshoot;    /* at the changeover the rate is this part above, for some seconds */
	double hunting_mpa;  /* amplitude of the regulator's swing */
	double age_days;     /* from casting to the test; 0: the hour of casting is not stated */
	double started_days; /* from 2026-09-07T07:00Z, a Monday, on */
	double readings_s;   /* a second */
	unsigned seed;
	const struct detail *detail; /* NULL: nothing beside the dimensions */
};

/* Usual values for everything but the names. */
void synthetic_init(struct synthetic *run);
struct utc_time synthetic_time(double days);
/* Registers, seats, loads, breaks, closes; gives the run's number. */
int64_t synthetic_add(struct store *store, const struct synthetic *run);
/* The press was verified ten days before the first of the days. */
void synthetic_verify(struct store *store, const char *press);

#endif
