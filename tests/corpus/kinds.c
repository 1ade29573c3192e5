/* SPDX-License-Identifier: MIT
 *
 * The kinds by name. Run number i is of kind i modulo their number.
 */
#include "kinds.h"

static const struct kind table[] = {
	{"steady at any rate", kinds_steady},
	{"good", kinds_good},
	{"fast or slow throughout", kinds_throughout},
	{"exactly at a limit", kinds_at_limit},
	{"fast until just before the half", kinds_change_before},
	{"fast until the half", kinds_change_at},
	{"fast until just after the half", kinds_change_after},
	{"excursion upwards", kinds_excursion_up},
	{"excursion downwards", kinds_excursion_down},
	{"excursion by 30 %", kinds_excursion_30},
	{"creeping drift", kinds_creep},
	{"stand-still", kinds_stall},
	{"shock", kinds_shock},
	{"rolls off from 90 %", kinds_roll_off_late},
	{"rolls off from 80 %", kinds_roll_off_early},
	{"weak specimen", kinds_weak},
	{"strong specimen", kinds_strong},
	{"explosive", kinds_explosive},
	{"brittle", kinds_brittle},
	{"ductile", kinds_ductile},
	{"a corner lets go", kinds_corner},
	{"two corners let go", kinds_corners},
	{"recovers to just below", kinds_corner_at_top},
	{"broken, loaded again", kinds_reload},
	{"let off before the maximum", kinds_let_off},
	{"let off after the maximum", kinds_let_off_after},
	{"alignment check", kinds_alignment},
	{"spikes", kinds_spikes},
	{"spike at the maximum", kinds_spike_at_top},
	{"stuck readings", kinds_stuck},
	{"gap", kinds_gap},
	{"zero offset", kinds_zero_offset},
	{"zero drift", kinds_zero_drift},
	{"saturation", kinds_saturation},
	{"readings stop", kinds_stops},
	/* not drawn: kinds_count() ends before it */
	{"real crushing tests", NULL},
	{NULL, NULL},
};

const struct kind *kinds_table(void)
{
	return table;
}

size_t kinds_count(void)
{
	return sizeof table / sizeof table[0] - 2;
}
