/* SPDX-License-Identifier: MIT
 *
 * A target with a mistake in it, and the input that shows it: the check fails unless this fails.
 */
#include "fuzz.h"

#include <assert.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	assert(!(size > 2 && data[0] == 'g' && data[1] == 'a' && data[2] == 's'));
	return 0;
}
