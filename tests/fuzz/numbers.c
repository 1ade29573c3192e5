/* SPDX-License-Identifier: MIT
 *
 * Numbers and times that people and instruments write: what is read can be scaled, rounded and
 * written without a crash, and a time that was read is written and read again as the same.
 */
#include "fuzz.h"

#include "base/clocks.h"
#include "base/units.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

static void try_decimal(const char *text, size_t length)
{
	struct decimal decimal;
	if (!decimal_parse(text, length, &decimal))
		return;
	assert(decimal.exponent >= -18 && decimal.exponent <= 18);
	assert(llabs(decimal.mantissa) < INT64_C(1000000000000000000));
	for (int places = -18; places <= 18; places++) {
		int64_t scaled;
		char back[24];
		if (!decimal_scaled(decimal, places, &scaled))
			continue;
		if (places == -decimal.exponent)
			assert(scaled == decimal.mantissa);
		if (places >= 0)
			assert(decimal_text(scaled, places, back) == strlen(back));
	}
	for (int unit = UNIT_NEWTON; unit <= UNIT_KIP; unit++) {
		int64_t load_un;
		if (units_product_un((enum unit)unit, decimal, decimal, &load_un))
			assert(llabs(load_un) <= UNITS_LOAD_UN_MAX);
	}
	double value = decimal_double(decimal);
	assert(decimal.mantissa == 0 ? value == 0 : value != 0);
	if (value > -1e17 && value < 1e17)
		decimal_round_even(value, 1, -1);
}

static void try_time(const char *text)
{
	struct utc_time time, again;
	char back[CLOCKS_UTC_TEXT_SIZE];
	if (!clocks_utc_parse(text, &time))
		return;
	assert(time.ns >= 0);
	clocks_utc_text(time, back);
	assert(clocks_utc_parse(back, &again));
	assert(again.ns == time.ns - time.ns % CLOCKS_NS_PER_MS);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	try_decimal((const char *)data, size);
	enum unit unit;
	if (units_parse((const char *)data, size, &unit))
		assert(unit != UNIT_NONE);
	char *text = size > 0 ? strndup((const char *)data, size) : strdup("");
	assert(text);
	try_time(text);
	free(text);
	return 0;
}
