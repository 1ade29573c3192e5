/* SPDX-License-Identifier: MIT
 *
 * Modbus RTU: the first byte chooses type and order of the register, the rest is the wire.
 */
#include "wire.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct decoder_setup setup = {.modbus = {1, 3, 0, MODBUS_INT16, MODBUS_ABCD}};
	if (size == 0)
		return 0;
	setup.modbus.type = (enum modbus_type)(data[0] % (MODBUS_FLOAT32 + 1));
	setup.modbus.order = (enum modbus_order)(data[0] / 16 % (MODBUS_DCBA + 1));
	setup.modbus.function = data[0] & 0x80 ? 4 : 3;
	wire_try("modbus-rtu", &setup, data + 1, size - 1);
	return 0;
}
