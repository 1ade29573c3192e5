/* SPDX-License-Identifier: MIT
 *
 * The table of dialects. Rounding is done once, to the resolution and then to the digits of the
 * line, as an indicator does it.
 */
#include "dialect.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* Newtons in one unit. Asked for a thousand units, since the library answers in whole micronewtons
 * and a pound-force is no whole number of them. */
static double unit_newton(enum unit unit)
{
	int64_t load_un = 0;
	bool known = units_load_un(unit, (struct decimal){1000, 0}, &load_un);
	assert(known);
	return (double)load_un / 1000 / (double)UNITS_UN_PER_N;
}

static void write_digits(const struct dialect_setup *setup, double load_newton, char *digits)
{
	assert(setup->decimals >= 0 && setup->decimals <= DIALECT_DECIMALS_MAX);
	if (setup->resolution_newton > 0)
		load_newton = nearbyint(load_newton / setup->resolution_newton) *
			      setup->resolution_newton;
	double value = load_newton / unit_newton(setup->unit);
	decimal_text(decimal_round_even(value, 1, -setup->decimals), setup->decimals, digits);
}

/* Value right-aligned in nine columns, a space, the unit: "   123.45 kN". */
static size_t write_plain(const struct dialect_setup *setup, double load_newton, char *bytes)
{
	char digits[24];
	write_digits(setup, load_newton, digits);
	int length =
		snprintf(bytes, DIALECT_LINE_MAX, "%9s %s\r\n", digits, units_text(setup->unit));
	assert(length > 0 && length < DIALECT_LINE_MAX);
	return (size_t)length;
}

/* ---- SMA SCP-0499: LF, status, range, gross, motion, reserved, weight, unit, CR */

static size_t write_sma(const struct dialect_setup *setup, double load_newton, char *bytes)
{
	/* Masses, as the weighing trade has them, for what it knows. */
	static const char *const UNITS[] = {[UNIT_KILOGRAM_FORCE] = "kg",
		[UNIT_TONNE_FORCE] = "t",
		[UNIT_POUND_FORCE] = "lb",
		[UNIT_KIP] = NULL};
	char digits[24];
	write_digits(setup, load_newton, digits);
	bool zero = strspn(digits, "-0.") == strlen(digits);
	const char *unit = setup->unit <= UNIT_KIP && UNITS[setup->unit] ? UNITS[setup->unit]
									 : units_text(setup->unit);
	int length = snprintf(
		bytes, DIALECT_LINE_MAX, "\n%c1G  %10s%-3s\r", zero ? 'Z' : ' ', digits, unit);
	assert(length > 0 && length < DIALECT_LINE_MAX);
	return (size_t)length;
}

/* LF letter CR; bytes between commands are passed over. */
static void read_sma(const unsigned char *bytes, size_t length, struct dialect_request *request)
{
	*request = (struct dialect_request){.asked = DIALECT_NOTHING, .address = 1};
	if (bytes[0] != '\n') {
		request->used = 1;
		return;
	}
	const unsigned char *end = memchr(bytes, '\r', length);
	if (end == NULL)
		return;
	request->used = (size_t)(end - bytes) + 1;
	if (request->used == 3 && bytes[1] == 'W') {
		request->asked = DIALECT_ONE;
	} else if (request->used == 3 && bytes[1] == 'R') {
		request->asked = DIALECT_REPEATED;
	} else {
		request->asked = DIALECT_OTHER;
		request->reply_length = 3;
		memcpy(request->reply, "\n?\r", 3);
	}
}

/* ---- Modbus RTU: the value without its decimal point, 32 bits in registers 0 and 1 */

enum { MODBUS_REQUEST = 8, MODBUS_REGISTERS = 2 };

/* CRC-16 by the polynomial x^16 + x^15 + x^2 + 1, least significant bit first. */
static unsigned crc_of(const char *bytes, size_t length)
{
	unsigned crc = 0xffff;
	for (size_t bit = 0; bit < 8 * length; bit++) {
		unsigned in = (unsigned char)bytes[bit / 8] >> bit % 8 & 1;
		crc = (crc >> 1) ^ (((crc & 1) ^ in) ? 0xa001u : 0u);
	}
	return crc;
}

static size_t end_with_crc(char *bytes, size_t length)
{
	unsigned crc = crc_of(bytes, length);
	bytes[length] = (char)(crc & 0xff);
	bytes[length + 1] = (char)(crc >> 8);
	return length + 2;
}

/* The reply to function 3. */
static size_t write_modbus(const struct dialect_setup *setup, double load_newton, char *bytes)
{
	char digits[24];
	uint32_t value = 0;
	write_digits(setup, load_newton, digits);
	for (const char *c = digits; *c; c++)
		value = *c >= '0' && *c <= '9' ? 10 * value + (uint32_t)(*c - '0') : value;
	if (digits[0] == '-')
		value = -value;
	bytes[0] = (char)setup->address;
	bytes[1] = 3;
	bytes[2] = 2 * MODBUS_REGISTERS;
	for (int i = 0; i < 4; i++)
		bytes[3 + i] = (char)(value >> (24 - 8 * i) & 0xff);
	return end_with_crc(bytes, 7);
}

static void refuse_modbus(struct dialect_request *request, const unsigned char *bytes, char code)
{
	request->asked = DIALECT_OTHER;
	request->reply[0] = (char)bytes[0];
	request->reply[1] = (char)(bytes[1] | 0x80);
	request->reply[2] = code;
	request->reply_length = end_with_crc(request->reply, 3);
}

/* A request that is damaged is not answered. */
static void read_modbus(const unsigned char *bytes, size_t length, struct dialect_request *request)
{
	static const unsigned char OURS[] = {0, 0, 0, MODBUS_REGISTERS};
	*request = (struct dialect_request){.asked = DIALECT_NOTHING, .address = bytes[0]};
	if (length < MODBUS_REQUEST)
		return;
	request->used = 1;
	if (crc_of((const char *)bytes, MODBUS_REQUEST) != 0)
		return;
	request->used = MODBUS_REQUEST;
	if (bytes[1] != 3)
		refuse_modbus(request, bytes, 1);
	else if (memcmp(bytes + 2, OURS, sizeof OURS) != 0)
		refuse_modbus(request, bytes, 2);
	else
		request->asked = DIALECT_ONE;
}

static const struct dialect table[] = {
	{"plain", "value and unit on a text line, ended by CR LF", write_plain, NULL},
	{"sma", "SMA SCP-0499: sends what W and R ask for", write_sma, read_sma},
	{"modbus-rtu", "Modbus RTU: holding registers 0 and 1, the digits as a 32-bit integer",
		write_modbus, read_modbus},
	{NULL, NULL, NULL, NULL},
};

const struct dialect *dialect_table(void)
{
	return table;
}

const struct dialect *dialect_find(const char *name)
{
	for (const struct dialect *entry = table; entry->name != NULL; entry++)
		if (strcmp(entry->name, name) == 0)
			return entry;
	return NULL;
}
