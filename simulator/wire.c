/* SPDX-License-Identifier: MIT
 *
 * The faults in the order of enum faults_kind: what they do to the load, to its line, to the stream
 * of lines.
 */
#include "wire.h"

#include <math.h>
#include <string.h>

void wire_init(struct wire *wire, const struct dialect *dialect, const struct dialect_setup *setup,
	double line_hz, const struct faults_plan *plan)
{
	*wire = (struct wire){.dialect = dialect, .setup = setup, .line_hz = line_hz};
	faults_init(&wire->faults, plan);
}

static bool has(const struct wire *wire, enum faults_kind kind)
{
	return wire->faults.in_force[kind];
}

/* ---- the load */

static double disturb_load(struct wire *wire, double load_newton)
{
	if (has(wire, FAULTS_STUCK) && !wire->stuck)
		wire->stuck_newton = load_newton;
	wire->stuck = has(wire, FAULTS_STUCK);
	if (wire->stuck)
		load_newton = wire->stuck_newton;
	if (has(wire, FAULTS_SPIKE))
		load_newton += wire->faults.value[FAULTS_SPIKE];
	return load_newton - wire->tare_newton;
}

static size_t write_load(const struct wire *wire, double load_newton, char *line)
{
	struct dialect_setup other = *wire->setup;
	if (!has(wire, FAULTS_UNIT))
		return wire->dialect->write(wire->setup, load_newton, line);
	other.unit = other.unit == UNIT_POUND_FORCE ? UNIT_KILONEWTON : UNIT_POUND_FORCE;
	return wire->dialect->write(&other, load_newton, line);
}

/* ---- its line */

static char random_byte(struct random *random)
{
	return (char)(random_bits(random) >> 56);
}

static size_t random_index(struct random *random, size_t count)
{
	return (size_t)(random_unit(random) * (double)count);
}

/* The sender's line: high at rest, for each byte a low bit, eight from the lowest on, a high one.
 */
static bool level_at(const char *bytes, size_t length, double bit)
{
	size_t index = bit < 0 ? 10 * length : (size_t)bit;
	unsigned place = (unsigned)(index % 10);
	if (index >= 10 * length || place == 9)
		return true;
	if (place == 0)
		return false;
	return ((unsigned char)bytes[index / 10] >> (place - 1)) & 1;
}

size_t wire_resample(const char *bytes, size_t length, double ratio, char *out)
{
	const double end = 10 * (double)length;
	const double bit = 1 / ratio, look = fmin(1, bit) / 8;
	size_t count = 0;
	double at = 0;
	while (at < end) {
		while (at < end && level_at(bytes, length, at))
			at += look;
		if (at >= end)
			break;
		unsigned byte = 0;
		for (int place = 0; place < 8; place++)
			byte |= (unsigned)level_at(bytes, length, at + (1.5 + place) * bit)
				<< place;
		out[count++] = (char)byte;
		at += 9.5 * bit;
		/* Where the stop bit is missing, the line must rise before a byte can begin. */
		while (at < end && !level_at(bytes, length, at))
			at += look;
	}
	return count;
}

static size_t disturb_line(struct wire *wire, struct random *random, char *line, size_t length)
{
	char sent[DIALECT_LINE_MAX];
	if (has(wire, FAULTS_HALF))
		length /= 2;
	for (int i = 0; has(wire, FAULTS_NUL) && i < wire->faults.value[FAULTS_NUL]; i++)
		line[random_index(random, length)] = '\0';
	for (size_t i = 0; has(wire, FAULTS_GARBAGE) && i < length; i++)
		line[i] = random_byte(random);
	if (has(wire, FAULTS_BAUD)) {
		memcpy(sent, line, length);
		length = wire_resample(sent, length, wire->faults.value[FAULTS_BAUD], line);
	}
	return has(wire, FAULTS_DROP) ? 0 : length;
}

/* ---- the stream */

/* As much of the line, again and again, as the speed carries until the next one. */
static size_t flood(const struct wire *wire, char *out, size_t length)
{
	double room = wire->faults.value[FAULTS_FLOOD] / 10 / wire->line_hz;
	size_t all = (size_t)fmin(room, WIRE_OUT_MAX / 2);
	if (length == 0)
		return 0;
	all -= all % length;
	for (size_t i = length; i < all; i++)
		out[i] = out[i - length];
	return all > length ? all : length;
}

static size_t endless(const struct wire *wire, char *out)
{
	double share = ceil(wire->faults.value[FAULTS_ENDLESS] / wire->line_hz);
	size_t length = (size_t)fmin(share, WIRE_OUT_MAX / 2);
	memset(out, '7', length);
	return length;
}

static size_t hold(struct wire *wire, char *out, size_t length)
{
	if (has(wire, FAULTS_BURST) && wire->held_length + length <= sizeof wire->held) {
		memcpy(wire->held + wire->held_length, out, length);
		wire->held_length += length;
		length = 0;
		wire->held_count++;
		if (wire->held_count < (unsigned)wire->faults.value[FAULTS_BURST])
			return 0;
	}
	memmove(out + wire->held_length, out, length);
	memcpy(out, wire->held, wire->held_length);
	length += wire->held_length;
	wire->held_length = wire->held_count = 0;
	return length;
}

/* What an indicator says when it gets its power back. */
static size_t boot(struct wire *wire, double load_newton, char *out)
{
	static const char words[] = "\xff\0\xfe\r\nINDICATOR 2.1\r\nSELF TEST 0 ERRORS\r\n\r\n";
	memcpy(out, words, sizeof words - 1);
	if (wire->faults.value[FAULTS_REBOOT] > 0)
		wire->tare_newton = load_newton;
	return sizeof words - 1;
}

static void keep_line(struct wire *wire, const char *line, size_t length)
{
	for (int kind = 0; kind < FAULTS_FLOOD; kind++)
		if (wire->faults.in_force[kind])
			return;
	memcpy(wire->line, line, length);
	wire->line_length = length;
}

size_t wire_write(struct wire *wire, struct random *random, double load_newton, char *out)
{
	bool booting = has(wire, FAULTS_REBOOT), booted = wire->rebooting && !booting;
	wire->rebooting = booting;
	wire->line_length = 0;
	if (booting || has(wire, FAULTS_SILENCE))
		return 0;
	if (booted)
		return boot(wire, load_newton, out);
	if (has(wire, FAULTS_ENDLESS))
		return endless(wire, out);
	size_t length = write_load(wire, disturb_load(wire, load_newton), out);
	keep_line(wire, out, length);
	length = disturb_line(wire, random, out, length);
	if (has(wire, FAULTS_FLOOD))
		length = flood(wire, out, length);
	return hold(wire, out, length);
}
