/* SPDX-License-Identifier: MIT
 *
 * The plain protocol in its standard form.
 */
#include "wire.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct decoder_setup standard;
	wire_try("plain", &standard, data, size);
	return 0;
}
