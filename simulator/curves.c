/* SPDX-License-Identifier: MIT
 *
 * The table of curves and their evaluation. The shapes are those of a hand valve and a hydraulic
 * press: a toe while the parts settle, a quick first part that ASTM C39 permits up to half of the
 * anticipated load, a change of speed shortly before the half, the ramp, a rate that falls by
 * itself near the maximum, the fracture.
 *
 * Evaluation walks the stages from the start, a dozen of them at most; nothing is remembered.
 */
#include "curves.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* One stage a line, in columns. */
/* clang-format off */

/* Beginning that all share: toe, quick part, and the valve closed to the nominal rate by 46 %, so
 * that a specimen slightly weaker than anticipated still has the change outside its latter half. */
#define TOE       { 0.04, 0, 3, 0 }
#define QUICK     { 0.42, 3, 3, 0 }
#define SLOW_DOWN { 0.46, 3, 1, 0 }
#define RAMP      { 0.93, 1, 1, 0 }
/* The rest bends over to a level maximum, as cracking concrete does under a steady piston. */
#define BEND      { 1.00, 1, 0.2, 0 }
#define FRACTURE  { 0.78, 0, 0, 0.30 }, { 0.12, 0, 0, 0.15 }, { 0, 0, 0, 0.25 }
#define END       { 0, 0, 0, 0 }

static const struct curves_stage good[] = {
	TOE, QUICK, SLOW_DOWN, RAMP, BEND, FRACTURE, END };
static const struct curves_stage fast[] = {
	TOE, QUICK, { 0.46, 3, 1.4, 0 }, { 0.93, 1.4, 1.4, 0 }, { 1, 1.4, 0.3, 0 }, FRACTURE, END };
static const struct curves_stage slow[] = {
	TOE, QUICK, { 0.46, 3, 0.68, 0 }, { 0.93, 0.68, 0.68, 0 }, { 1, 0.68, 0.2, 0 },
	FRACTURE, END };
static const struct curves_stage creeping[] = {
	TOE, QUICK, SLOW_DOWN, { 0.92, 1, 1.6, 0 }, { 1, 1.6, 0.3, 0 }, FRACTURE, END };
static const struct curves_stage stall[] = {
	TOE, QUICK, SLOW_DOWN, { 0.70, 1, 1, 0 }, { 0.70, 0, 0, 6 }, RAMP, BEND, FRACTURE, END };
static const struct curves_stage shock[] = {
	TOE, QUICK, SLOW_DOWN, { 0.62, 1, 1, 0 }, { 0.70, 0, 0, 0.05 }, RAMP, BEND, FRACTURE, END };
static const struct curves_stage corner[] = {
	TOE, QUICK, SLOW_DOWN, { 0.72, 1, 1, 0 }, { 0.64, 0, 0, 0.08 }, RAMP, BEND, FRACTURE, END };
static const struct curves_stage explosive[] = {
	TOE, QUICK, SLOW_DOWN, { 1, 1, 1, 0 }, { 0, 0, 0, 0.0005 }, END };
static const struct curves_stage ductile[] = {
	TOE, QUICK, SLOW_DOWN, { 0.80, 1, 1, 0 }, { 1, 1, 0.05, 0 }, { 0.97, 0.05, 0.3, 0 },
	{ 0.80, 0.3, 0.3, 0 }, { 0, 0, 0, 2 }, END };
static const struct curves_stage let_off[] = {
	TOE, QUICK, SLOW_DOWN, { 0.60, 1, 1, 0 }, { 0, 0, 0, 3 }, END };
static const struct curves_stage alignment[] = {
	{ 0.05, 0, 1, 0 }, { 0.05, 0, 0, 3 }, { 0, 0, 0, 1 }, { 0, 0, 0, 4 },
	TOE, QUICK, SLOW_DOWN, RAMP, BEND, FRACTURE, END };
static const struct curves_stage steady[] = {
	{ 1, 1, 1, 0 }, { 0, 0, 0, 0.1 }, END };

/* clang-format on */

static const struct curves_entry table[] = {
	{"alignment", "a small load held and taken off, then a good break", alignment},
	{"corner", "a corner lets go at 72 %, the load recovers and climbs on", corner},
	{"creeping", "the rate creeps up and out of the band in the latter half", creeping},
	{"ductile", "a soft maximum and a long decline", ductile},
	{"explosive", "full load to nothing within a millisecond", explosive},
	{"fast", "1.4 times the rate in the latter half", fast},
	{"good", "as it should be: quick first half, steady rate, fracture", good},
	{"let-off", "let off at 60 % without a break", let_off},
	{"shock", "a step of 8 % within a twentieth of a second", shock},
	{"slow", "0.68 times the rate in the latter half", slow},
	{"stall", "stands still for 6 s at 70 %", stall},
	{"steady", "one straight line to the strength, for measuring", steady},
	{NULL, NULL, NULL},
};

const struct curves_entry *curves_table(void)
{
	return table;
}

const struct curves_entry *curves_find(const char *name)
{
	for (const struct curves_entry *entry = table; entry->name != NULL; entry++)
		if (strcmp(entry->name, name) == 0)
			return entry;
	return NULL;
}

static bool stage_is_end(const struct curves_stage *stage)
{
	return stage->level == 0 && stage->rate_from == 0 && stage->rate_to == 0 &&
	       stage->seconds == 0;
}

/* Seconds that one strength takes at the nominal rate. */
static double unit_s(const struct curves_specimen *specimen)
{
	return specimen->strength_pa / specimen->rate_pa_per_s;
}

static double stage_duration_s(const struct curves_stage *stage, double from, double unit)
{
	if (stage->seconds > 0)
		return stage->seconds;
	return 2 * fabs(stage->level - from) / (stage->rate_from + stage->rate_to) * unit;
}

/* Level at time_s within the stage that begins at level from. */
static double stage_level(
	const struct curves_stage *stage, double from, double duration, double time_s)
{
	double part = time_s / duration;
	double weight = part; /* of the way from one level to the other */
	if (stage->seconds <= 0) {
		double sum = stage->rate_from + stage->rate_to;
		weight = (2 * stage->rate_from * part +
				 (stage->rate_to - stage->rate_from) * part * part) /
			 sum;
	}
	return from + (stage->level - from) * weight;
}

double curves_duration_s(const struct curves_entry *curve, const struct curves_specimen *specimen)
{
	double total = 0, level = 0;
	for (const struct curves_stage *stage = curve->stages; !stage_is_end(stage); stage++) {
		total += stage_duration_s(stage, level, unit_s(specimen));
		level = stage->level;
	}
	return total;
}

double curves_load_newton(
	const struct curves_entry *curve, const struct curves_specimen *specimen, double time_s)
{
	double full = specimen->strength_pa * specimen->area_m2;
	double level = 0;
	if (time_s <= 0)
		return 0;
	for (const struct curves_stage *stage = curve->stages; !stage_is_end(stage); stage++) {
		double duration = stage_duration_s(stage, level, unit_s(specimen));
		if (time_s < duration)
			return full * stage_level(stage, level, duration, time_s);
		time_s -= duration;
		level = stage->level;
	}
	return full * level;
}
