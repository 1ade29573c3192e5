/* SPDX-License-Identifier: MIT */
#include "result/fracture.h"

#include "base/units.h"

#include <stddef.h>

static double mm(double um)
{
	return um / (double)UNITS_UM_PER_MM;
}

/* Lengths of a beam from its support, in um. */
static bool check_crack(const struct method *method, const struct specimen *specimen,
	const struct method_fracture *fracture, int64_t crack_um, struct message *why)
{
	double span = (double)specimen->length_um, crack = (double)crack_um;
	double third = span / 3, least = third - method->crack_outside * span;
	bool apart = crack < third && crack >= least;
	if (crack_um == 0 && fracture->worth == METHOD_FRACTURE_DISTANCE)
		return message_set(why,
			"type %d needs the distance of the crack from the nearer support: "
			"--crack-mm",
			fracture->type);
	if (crack_um == 0)
		return true;
	if (crack > span / 2)
		return message_set(why,
			"%.1f mm from the nearer support is more than half of the span of %.1f mm",
			mm(crack), mm(span));
	if (apart != (fracture->worth == METHOD_FRACTURE_DISTANCE) ||
		(crack < least) != (fracture->worth == METHOD_FRACTURE_VOID))
		return message_set(why,
			"type %d (%.80s) does not agree with a crack at %.1f mm: the middle third "
			"begins at %.1f mm, and %.1f mm is the least with a result",
			fracture->type, fracture->words, mm(crack), mm(third), mm(least));
	return true;
}

bool fracture_check(const struct method *method, const struct specimen *specimen, int type,
	int64_t crack_um, struct message *why)
{
	const struct method_fracture *fracture = method_fracture(method, type);
	if (method->fracture_count > 0 && !fracture)
		return message_set(why,
			"%s has no fracture type %d; `ramplog methods %s` lists its types",
			method->standard, type, method->name);
	if (crack_um != 0 && (method->formula != METHOD_FLEXURE || !fracture))
		return message_set(why,
			"the distance of a crack from its support is for beams, not for %s",
			method->standard);
	if (method->formula == METHOD_FLEXURE && fracture)
		return check_crack(method, specimen, fracture, crack_um, why);
	return true;
}

double fracture_strength_pa(const struct method *method, const struct specimen *specimen, int type,
	int64_t crack_um, double strength_pa)
{
	const struct method_fracture *fracture = method_fracture(method, type);
	if (!fracture || fracture->worth == METHOD_FRACTURE_GOOD ||
		fracture->worth == METHOD_FRACTURE_DOUBT)
		return strength_pa;
	if (fracture->worth == METHOD_FRACTURE_VOID || specimen->length_um <= 0)
		return 0;
	return strength_pa * 3 * (double)crack_um / (double)specimen->length_um;
}
