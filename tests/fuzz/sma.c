/* SPDX-License-Identifier: MIT
 *
 * SMA SCP-0499.
 */
#include "wire.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct decoder_setup standard;
	wire_try("sma", &standard, data, size);
	return 0;
}
