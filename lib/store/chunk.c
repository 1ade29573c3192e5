/* SPDX-License-Identifier: MIT
 *
 * The bytes of a chunk, all numbers as little-endian base-128 varints, signed ones zigzag first:
 *
 *   version       one byte, 1
 *   count         readings, 1 .. 1024
 *   groups        until their lengths add up to count: length, exponent (signed), unit, status
 *   first time    ns (signed)
 *   step          ns (signed), the mean distance of the readings
 *   first mantissa (signed)
 *   then for every further reading:
 *     time        distance from the reading before it, less the step (signed)
 *     mantissa    difference from the one before it (signed)
 *   check         the first 8 bytes of BLAKE2b-256 over all bytes before it
 *
 * Why: times are irregular by tens of microseconds, which no packing can remove, and regular
 * otherwise, so a distance less the step takes three bytes at most; a value on a ramp moves by few
 * counts, so one or two. Exponent, unit and status hardly ever change. Differences are taken in
 * wrapping unsigned arithmetic: every 64-bit value comes back.
 */
#include "store/chunk.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

enum { VERSION = 1, CHECK_SIZE = 8, EXPONENT_MAX = 18 };

static void check_of(const unsigned char *bytes, size_t size, unsigned char check[CHECK_SIZE])
{
	unsigned char hash[crypto_generichash_BYTES];

	crypto_generichash(hash, sizeof(hash), bytes, size, NULL, 0);
	memcpy(check, hash, CHECK_SIZE);
}

struct writer {
	unsigned char *bytes;
	size_t length, size;
	bool overflow;
};

static void write_number(struct writer *writer, uint64_t value)
{
	do {
		if (writer->length == writer->size) {
			writer->overflow = true;
			return;
		}
		unsigned char low = value & 0x7f;
		value >>= 7;
		writer->bytes[writer->length++] = value ? low | 0x80 : low;
	} while (value);
}

/* value is a signed number as its two's complement. */
static void write_signed(struct writer *writer, uint64_t value)
{
	write_number(writer, (value << 1) ^ (0 - (value >> 63)));
}

static bool same_form(const struct reading *a, const struct reading *b)
{
	return a->value.exponent == b->value.exponent && a->unit == b->unit &&
	       a->status == b->status;
}

static void write_groups(struct writer *writer, const struct reading *readings, size_t count)
{
	for (size_t start = 0, end; start < count; start = end) {
		const struct reading *first = &readings[start];

		assert(first->value.exponent >= -EXPONENT_MAX &&
			first->value.exponent <= EXPONENT_MAX && first->unit < UNIT_COUNT);
		for (end = start + 1; end < count && same_form(first, &readings[end]); end++)
			;
		write_number(writer, end - start);
		write_signed(writer, (uint64_t)first->value.exponent);
		write_number(writer, first->unit);
		write_number(writer, first->status);
	}
}

static bool write_chunk(struct writer *writer, const struct reading *readings, size_t count)
{
	uint64_t time = (uint64_t)readings[0].time.ns, step = 0;
	uint64_t mantissa = (uint64_t)readings[0].value.mantissa;

	if (count > 1 && readings[count - 1].time.ns > readings[0].time.ns)
		step = ((uint64_t)readings[count - 1].time.ns - time) / (count - 1);
	write_number(writer, VERSION);
	write_number(writer, count);
	write_groups(writer, readings, count);
	write_signed(writer, time);
	write_signed(writer, step);
	write_signed(writer, mantissa);
	for (size_t i = 1; i < count && !writer->overflow; i++) {
		uint64_t next = (uint64_t)readings[i].time.ns;
		uint64_t digits = (uint64_t)readings[i].value.mantissa;

		write_signed(writer, next - time - step);
		write_signed(writer, digits - mantissa);
		time = next;
		mantissa = digits;
	}
	return !writer->overflow;
}

size_t chunk_encode(
	const struct reading *readings, size_t count, unsigned char *bytes, size_t *size)
{
	struct writer writer = {.bytes = bytes, .size = CHUNK_SIZE_MAX - CHECK_SIZE};

	assert(count > 0);
	if (count > CHUNK_READINGS_MAX)
		count = CHUNK_READINGS_MAX;
	while (!write_chunk(&writer, readings, count)) {
		assert(count > 1);
		count -= (count + 7) / 8;
		writer.length = 0;
		writer.overflow = false;
	}
	check_of(bytes, writer.length, bytes + writer.length);
	*size = writer.length + CHECK_SIZE;
	return count;
}

struct reader {
	const unsigned char *bytes;
	size_t position, size;
	enum chunk_error error;
};

static uint64_t read_number(struct reader *reader)
{
	uint64_t value = 0;

	for (unsigned shift = 0; shift < 64; shift += 7) {
		if (reader->position == reader->size)
			break;
		unsigned char byte = reader->bytes[reader->position++];
		value |= (uint64_t)(byte & 0x7f) << shift;
		if (!(byte & 0x80))
			return value;
	}
	if (reader->error == CHUNK_OK)
		reader->error = CHUNK_SHORT;
	return 0;
}

static uint64_t read_signed(struct reader *reader)
{
	uint64_t value = read_number(reader);

	return (value >> 1) ^ (0 - (value & 1));
}

static void read_groups(struct reader *reader, struct reading *readings, size_t count)
{
	for (size_t start = 0; start < count && reader->error == CHUNK_OK;) {
		uint64_t length = read_number(reader);
		int64_t exponent = (int64_t)read_signed(reader);
		uint64_t unit = read_number(reader);
		uint64_t status = read_number(reader);

		if (length == 0 || length > count - start || exponent < -EXPONENT_MAX ||
			exponent > EXPONENT_MAX || unit >= UNIT_COUNT || status > UINT32_MAX) {
			reader->error = CHUNK_VALUE;
			return;
		}
		for (size_t end = start + length; start < end; start++) {
			readings[start].value.exponent = (int)exponent;
			readings[start].unit = (enum unit)unit;
			readings[start].status = (unsigned)status;
		}
	}
}

static void read_values(struct reader *reader, struct reading *readings, size_t count)
{
	uint64_t time = read_signed(reader);
	uint64_t step = read_signed(reader);
	uint64_t mantissa = read_signed(reader);

	for (size_t i = 0; i < count && reader->error == CHUNK_OK; i++) {
		if (i > 0) {
			time += step + read_signed(reader);
			mantissa += read_signed(reader);
		}
		readings[i].time.ns = (int64_t)time;
		readings[i].value.mantissa = (int64_t)mantissa;
	}
}

enum chunk_error chunk_decode(
	const unsigned char *bytes, size_t size, struct reading *readings, size_t *count)
{
	unsigned char check[CHECK_SIZE];

	*count = 0;
	if (size <= CHECK_SIZE || size > CHUNK_SIZE_MAX)
		return CHUNK_SHORT;
	struct reader reader = {.bytes = bytes, .size = size - CHECK_SIZE};
	check_of(bytes, reader.size, check);
	if (memcmp(check, bytes + reader.size, CHECK_SIZE) != 0)
		return CHUNK_CHECK;
	if (read_number(&reader) != VERSION)
		return CHUNK_VERSION;
	uint64_t announced = read_number(&reader);
	if (announced == 0 || announced > CHUNK_READINGS_MAX)
		return CHUNK_VALUE;
	read_groups(&reader, readings, announced);
	read_values(&reader, readings, announced);
	if (reader.error != CHUNK_OK)
		return reader.error;
	if (reader.position != reader.size)
		return CHUNK_SHORT;
	*count = announced;
	return CHUNK_OK;
}

const char *chunk_error_text(enum chunk_error error)
{
	switch (error) {
	case CHUNK_OK:
		return "whole";
	case CHUNK_SHORT:
		return "ends too early or goes on too long";
	case CHUNK_VERSION:
		return "has a format that this program does not know";
	case CHUNK_CHECK:
		return "does not give its check: damaged or changed";
	case CHUNK_VALUE:
		return "holds a value that no reading has";
	}
	return "?";
}
