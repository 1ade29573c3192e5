/* SPDX-License-Identifier: MIT */
#include "result/set_terms.h"

#include "base/text.h"
#include "base/units.h"

#include <string.h>

/* As of an anticipated strength: another unit, rather than such a concrete. */
static const double stress_max = 500 * UNITS_PASCAL_PER_MPA;

static bool check_name(const char *what, const char *name, struct message *why)
{
	size_t length = strnlen(name, SPECIMEN_NAME_SIZE);
	if (length < SPECIMEN_NAME_SIZE && text_is_printable(name))
		return true;
	return message_set(why, "%s: at most %d printable bytes", what, SPECIMEN_NAME_SIZE - 1);
}

bool set_terms_check(const struct set_terms *terms, struct message *why)
{
	const char *rule = acceptance_rule_text(terms->rule);
	if (!terms->set[0])
		return message_set(why, "terms of which set? Name it");
	if (!check_name("set", terms->set, why) || !check_name("series", terms->series, why))
		return false;
	if (!(terms->specified_pa >= 0 && terms->specified_pa <= stress_max) ||
		!(terms->sigma_pa >= 0 && terms->sigma_pa <= stress_max))
		return message_set(
			why, "a strength of the terms is not between 0 and 500 MPa: another unit?");
	if (terms->rule != ACCEPTANCE_NONE && !(terms->specified_pa > 0))
		return message_set(why, "%s compares with the specified strength: state it", rule);
	if (terms->rule == ACCEPTANCE_EN_206_CONTINUOUS && !(terms->sigma_pa > 0))
		return message_set(why, "%s needs the standard deviation in force: state it", rule);
	return true;
}
