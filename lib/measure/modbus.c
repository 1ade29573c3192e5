/* SPDX-License-Identifier: MIT
 *
 * Requests and replies of Modbus RTU; see modbus.h.
 */
#include "measure/modbus.h"

#include "base/wide.h"

#include <assert.h>
#include <string.h>

enum { EXCEPTION_BIT = 0x80, CRC_SIZE = 2, HEAD_SIZE = 3 };

uint16_t modbus_crc(const unsigned char *bytes, size_t length)
{
	unsigned crc = 0xffff;
	for (size_t i = 0; i < length; i++) {
		crc ^= bytes[i];
		for (int bit = 0; bit < 8; bit++)
			crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
	}
	return (uint16_t)crc;
}

static size_t register_count(const struct modbus_map *map)
{
	return map->type == MODBUS_INT16 || map->type == MODBUS_UINT16 ? 1 : 2;
}

size_t modbus_ask(const struct decoder_setup *setup, unsigned char *bytes)
{
	const struct modbus_map *map = &setup->modbus;
	assert(map->address >= 1 && map->address <= MODBUS_ADDRESS_MAX);
	assert(map->function == 3 || map->function == 4);
	assert(map->first >= 0 && map->first <= 0xffff);
	bytes[0] = (unsigned char)map->address;
	bytes[1] = (unsigned char)map->function;
	bytes[2] = (unsigned char)(map->first >> 8);
	bytes[3] = (unsigned char)(map->first & 0xff);
	bytes[4] = 0;
	bytes[5] = (unsigned char)register_count(map);
	uint16_t crc = modbus_crc(bytes, 6);
	bytes[6] = (unsigned char)(crc & 0xff);
	bytes[7] = (unsigned char)(crc >> 8);
	return MODBUS_REQUEST_SIZE;
}

size_t modbus_reply_size(const struct decoder_setup *setup)
{
	return HEAD_SIZE + 2 * register_count(&setup->modbus) + CRC_SIZE;
}

static uint32_t read_value(const struct modbus_map *map, const unsigned char *data)
{
	/* Where A, B, C and D stand. */
	static const unsigned char PLACES[][4] = {
		[MODBUS_ABCD] = {0, 1, 2, 3},
		[MODBUS_CDAB] = {2, 3, 0, 1},
		[MODBUS_BADC] = {1, 0, 3, 2},
		[MODBUS_DCBA] = {3, 2, 1, 0},
	};
	if (register_count(map) == 1) {
		bool swapped = map->order == MODBUS_BADC || map->order == MODBUS_DCBA;
		return (uint32_t)data[swapped] << 8 | data[!swapped];
	}
	uint32_t value = 0;
	for (int i = 0; i < 4; i++)
		value = value << 8 | data[PLACES[map->order][i]];
	return value;
}

/* mantissa x 2^exponent to that many decimal places, if it has at most nine digits there (which
 * any two floats differ in). */
static bool at_places(uint32_t mantissa, int exponent, int places, int64_t *scaled)
{
	const wide limit = wide_power_of_ten(9);
	wide value = (wide)mantissa * wide_power_of_ten(places);
	for (; exponent > 0 && value < limit; exponent--)
		value *= 2;
	if (exponent > 0)
		return false;
	value = exponent < -100 ? 0 : wide_divide_even(value, (wide)1 << -exponent);
	*scaled = (int64_t)(value < limit ? value : 0);
	return value < limit;
}

/* The shortest decimal that is this float and no other. Below 1e-18 it becomes 0. False: beyond
 * nine digits before the point, which no load has, in whatever unit. */
static bool float_decimal(uint32_t bits, struct decimal *decimal)
{
	uint32_t mantissa = bits & 0x7fffff;
	int exponent = (int)(bits >> 23 & 0xff);
	float exact;
	memcpy(&exact, &bits, sizeof exact);
	exact = exact < 0 ? -exact : exact;
	mantissa |= exponent > 0 ? 1u << 23 : 0;
	exponent = (exponent > 0 ? exponent : 1) - 150;
	int64_t scaled = 0, found = 0;
	int places = 0;
	if (!at_places(mantissa, exponent, 0, &found))
		return false;
	/* The first that reads back, else as many places as nine digits fill. The division of two
	 * integers below 2^53 is rounded once, and a second time to the float: where that hides a
	 * shorter form, a longer one follows. */
	while ((float)((double)found / (double)wide_power_of_ten(places)) != exact && places < 18 &&
		at_places(mantissa, exponent, places + 1, &scaled)) {
		found = scaled;
		places++;
	}
	*decimal = (struct decimal){bits >> 31 ? -found : found, -places};
	return true;
}

static void read_data(
	const struct modbus_map *map, const unsigned char *data, struct reading *reading)
{
	uint32_t value = read_value(map, data);
	*reading = (struct reading){.unit = UNIT_NONE};
	switch (map->type) {
	case MODBUS_INT16:
		reading->value.mantissa = (int16_t)value;
		break;
	case MODBUS_INT32:
		reading->value.mantissa = (int32_t)value;
		break;
	case MODBUS_UINT16:
	case MODBUS_UINT32:
		reading->value.mantissa = value;
		break;
	case MODBUS_FLOAT32:
		/* All ones in the exponent: infinity, or no number. */
		if ((value >> 23 & 0xff) == 0xff || !float_decimal(value, &reading->value))
			reading->status = READING_INVALID;
		break;
	}
}

static enum decoder_error exception_error(unsigned char code)
{
	static const enum decoder_error NAMES[] = {
		[1] = DECODER_NO_FUNCTION,
		[2] = DECODER_NO_REGISTER,
		[3] = DECODER_NO_VALUE,
		[4] = DECODER_FAILURE,
		[5] = DECODER_ACKNOWLEDGED,
		[6] = DECODER_BUSY,
		[8] = DECODER_MEMORY,
		[10] = DECODER_NO_PATH,
		[11] = DECODER_NO_TARGET,
	};
	bool named = code < sizeof NAMES / sizeof *NAMES && NAMES[code] != DECODER_OK;
	return named ? NAMES[code] : DECODER_EXCEPTION;
}

/* How many bytes there are before the next possible start of a reply. */
static int bytes_to_next_start(
	const struct modbus_map *map, const unsigned char *bytes, size_t length)
{
	size_t at = 1;
	while (at < length && bytes[at] != map->address)
		at++;
	return (int)at;
}

int modbus_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error)
{
	const struct modbus_map *map = &setup->modbus;
	size_t size = modbus_reply_size(setup);
	if (length == 0)
		return 0;
	bool exception = length > 1 && bytes[1] == (map->function | EXCEPTION_BIT);
	bool fits = bytes[0] == map->address &&
		    (length < 2 || bytes[1] == map->function || exception) &&
		    (length < 3 || exception || bytes[2] == size - HEAD_SIZE - CRC_SIZE);
	if (!fits) {
		*error = DECODER_NO_FRAME;
		return -bytes_to_next_start(map, bytes, length);
	}
	size = exception ? MODBUS_EXCEPTION_SIZE : size;
	if (length < size)
		return 0;
	if (modbus_crc(bytes, size - CRC_SIZE) !=
		(uint16_t)(bytes[size - 2] | (unsigned)bytes[size - 1] << 8)) {
		*error = DECODER_CHECKSUM;
		return -bytes_to_next_start(map, bytes, size);
	}
	if (exception) {
		*error = exception_error(bytes[2]);
		return -MODBUS_EXCEPTION_SIZE;
	}
	read_data(map, bytes + HEAD_SIZE, reading);
	return (int)size;
}

int64_t modbus_silence_ns(int64_t ns_per_byte, int baud)
{
	return baud > 19200 ? INT64_C(1750000) : ns_per_byte * 7 / 2;
}
