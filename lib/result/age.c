/* SPDX-License-Identifier: MIT */
#include "result/age.h"

#include "base/decimal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const int64_t hour_ns = 3600 * CLOCKS_NS_PER_S, day_ns = 24 * 3600 * CLOCKS_NS_PER_S;
static const int64_t days_max = 36525;
/* From this age on it is told in days. */
static const int64_t told_in_days = 3;

bool age_parse(const char *text, int64_t *ns)
{
	struct decimal number;
	size_t length = strspn(text, "0123456789.");
	const char *unit = text + length + strspn(text + length, " ");
	int64_t unit_ns = strcmp(unit, "d") == 0 ? day_ns : strcmp(unit, "h") == 0 ? hour_ns : 0;
	if (!unit_ns || !decimal_parse(text, length, &number))
		return false;
	double age_ns = decimal_double(number) * (double)unit_ns;
	if (!(age_ns >= (double)hour_ns && age_ns <= (double)(days_max * day_ns)))
		return false;
	*ns = llround(age_ns);
	return true;
}

void age_text(int64_t ns, char *text)
{
	enum { TENTHS = 10 };
	bool days = ns >= told_in_days * day_ns;
	int64_t unit_ns = days ? day_ns : hour_ns;
	int64_t tenths = decimal_round_even((double)ns / (double)unit_ns, 1, -1);
	char number[AGE_TEXT_SIZE];
	decimal_text(tenths % TENTHS ? tenths : tenths / TENTHS, tenths % TENTHS ? 1 : 0, number);
	snprintf(text, AGE_TEXT_SIZE, "%.20s %c", number, days ? 'd' : 'h');
}

int64_t age_tolerance_ns(const struct method *method, int64_t age_ns)
{
	for (size_t i = 0; i < method->age_count; i++) {
		if (method->ages[i].age_ns == age_ns)
			return method->ages[i].tolerance_ns;
	}
	return llround(method->age_other * (double)age_ns);
}

struct age age_of(const struct method *method, struct utc_time cast, struct utc_time tested,
	int64_t intended_ns)
{
	struct age age = {.intended_ns = intended_ns};
	if (intended_ns > 0)
		age.tolerance_ns = age_tolerance_ns(method, intended_ns);
	if (cast.ns <= 0 || tested.ns <= cast.ns)
		return age;
	age.ns = tested.ns - cast.ns;
	int64_t off_ns = age.ns > intended_ns ? age.ns - intended_ns : intended_ns - age.ns;
	age.outside = age.tolerance_ns > 0 && off_ns > age.tolerance_ns;
	return age;
}

struct age_due age_due(const struct method *method, struct utc_time cast, int64_t intended_ns)
{
	int64_t tolerance_ns = age_tolerance_ns(method, intended_ns);
	int64_t at_ns = cast.ns + intended_ns;
	return (struct age_due){
		.from = {at_ns - tolerance_ns}, .at = {at_ns}, .until = {at_ns + tolerance_ns}};
}
