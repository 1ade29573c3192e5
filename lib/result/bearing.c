/* SPDX-License-Identifier: MIT
 *
 * Widths in whole micrometres, so that a face of just 3 % more is one.
 */
#include "result/bearing.h"

#include <math.h>

int64_t bearing_least_um(const struct bearing *bearing, const struct specimen *specimen)
{
	int64_t one = specimen->width_um[0], other = specimen->width_um[1];
	int64_t widest = one > other ? one : other;

	if (specimen->shape == SHAPE_CUBE && !bearing->square)
		widest = llround(hypot((double)one, (double)other));
	return (widest * 103 + 99) / 100;
}

bool bearing_fits(
	const struct bearing *bearing, const struct specimen *specimen, struct message *why)
{
	int64_t least_um = bearing_least_um(bearing, specimen);

	if (bearing->width_um == 0 || bearing->width_um >= least_um)
		return true;
	return message_set(why,
		"the bearing block's face of %.10g mm is too small for %s: 3 %% wider than the "
		"specimen is %.10g mm",
		(double)bearing->width_um * 1e-3, specimen->id, (double)least_um * 1e-3);
}
