/* SPDX-License-Identifier: MIT
 *
 * Any bytes as a curve file: either a curve that keeps its promises, or a message fit to print.
 */
#include "fuzz.h"

#include "base/text.h"
#include "base/units.h"
#include "measure/curve.h"

#include <assert.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct curve curve;
	struct message why = {{0}};
	if (!curve_parse("input.csv", (const char *)data, size, &curve, &why)) {
		assert(!curve.samples);
		assert(strncmp(why.text, "input.csv:", 10) == 0);
		assert(text_is_printable(why.text));
		return 0;
	}
	assert(curve.count > 0);
	assert(curve.step_un > 0);
	for (size_t i = 0; i < curve.count; i++) {
		const struct sample *sample = &curve.samples[i];
		assert(sample->time.ns >= 0);
		assert(i == 0 || sample->time.ns > curve.samples[i - 1].time.ns);
		assert(sample->load_un <= UNITS_LOAD_UN_MAX);
		assert(sample->load_un >= -UNITS_LOAD_UN_MAX);
	}
	curve_finish(&curve);
	return 0;
}
