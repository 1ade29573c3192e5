/* SPDX-License-Identifier: MIT
 *
 * The bytes of a chunk, all numbers as little-endian base-128 varints, signed ones zigzag first:
 *
 *   version       one byte, 1 or 2
 *   count         readings, 1 .. 1024
 *   groups        until their lengths add up to count: length, exponent (signed), unit, status
 *   first time    ns (signed)
 *   step          ns (signed), the mean distance of the readings
 *   first mantissa (signed)
 *   then for every further reading:
 *     time        distance from the reading before it, less the step (signed)
 *     mantissa    difference from the one before it (signed)
 *     moved, counter: see below
 *   check         the first 8 bytes of BLAKE2b-256 over all bytes before it
 *
 * Version 1 is for readings whose time is their stamp and that have no counter. Version 2 has after
 * the first mantissa: first moved (signed: the stamp less the time), first counter (signed), the
 * counter's step (signed, its mean distance), and which of the two are in every further reading: 1
 * moved, 2 counter, 3 both, 0 neither (they follow from the first one and the step). There: moved
 * less the one before it (signed); counter less the one before it less the step (signed).
 *
 * Why: times are irregular by tens of microseconds, which no packing can remove, and regular
 * otherwise, so a distance less the step takes three bytes at most; a value on a ramp moves by few
 * counts, so one or two. Exponent, unit and status hardly ever change. Differences are taken in
 * wrapping unsigned arithmetic: every 64-bit value comes back.
 */
#include "store/chunk.h"

#include <assert.h>
#include <endian.h>
#include <sodium.h>
#include <string.h>

enum {
	VERSION_PLAIN = 1,
	VERSION_FULL = 2,
	CHECK_SIZE = 8,
	EXPONENT_MAX = 18,
	WITH_MOVED = 1,
	WITH_COUNTER = 2,
};

/* What of a chunk is not in its first reading. All distances as two's complement. */
struct steps {
	uint64_t version;
	uint64_t time, counter;
	uint64_t with; /* WITH_, or-ed */
};

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

static struct steps find_steps(const struct reading *readings, size_t count)
{
	const struct reading *first = &readings[0], *last = &readings[count - 1];
	struct steps steps = {.version = VERSION_PLAIN};

	if (count > 1 && last->time.ns > first->time.ns)
		steps.time = ((uint64_t)last->time.ns - (uint64_t)first->time.ns) / (count - 1);
	if (count > 1 && last->counter > first->counter)
		steps.counter = ((uint64_t)last->counter - (uint64_t)first->counter) / (count - 1);
	for (size_t i = 0; i < count; i++) {
		uint64_t counter = (uint64_t)first->counter + i * steps.counter;

		if (readings[i].moved_ns != 0 || readings[i].counter != 0)
			steps.version = VERSION_FULL;
		if (readings[i].moved_ns != first->moved_ns)
			steps.with |= WITH_MOVED;
		if ((uint64_t)readings[i].counter != counter)
			steps.with |= WITH_COUNTER;
	}
	return steps;
}

static void write_first(
	struct writer *writer, const struct reading *first, const struct steps *steps)
{
	write_signed(writer, (uint64_t)first->time.ns);
	write_signed(writer, steps->time);
	write_signed(writer, (uint64_t)first->value.mantissa);
	if (steps->version == VERSION_PLAIN)
		return;
	write_signed(writer, (uint64_t)first->moved_ns);
	write_signed(writer, (uint64_t)first->counter);
	write_signed(writer, steps->counter);
	write_number(writer, steps->with);
}

static void write_next(struct writer *writer, const struct reading *before,
	const struct reading *reading, const struct steps *steps)
{
	write_signed(writer, (uint64_t)reading->time.ns - (uint64_t)before->time.ns - steps->time);
	write_signed(writer, (uint64_t)reading->value.mantissa - (uint64_t)before->value.mantissa);
	if (steps->with & WITH_MOVED)
		write_signed(writer, (uint64_t)reading->moved_ns - (uint64_t)before->moved_ns);
	if (steps->with & WITH_COUNTER)
		write_signed(writer,
			(uint64_t)reading->counter - (uint64_t)before->counter - steps->counter);
}

static bool write_chunk(struct writer *writer, const struct reading *readings, size_t count)
{
	struct steps steps = find_steps(readings, count);

	write_number(writer, steps.version);
	write_number(writer, count);
	write_groups(writer, readings, count);
	write_first(writer, &readings[0], &steps);
	for (size_t i = 1; i < count && !writer->overflow; i++)
		write_next(writer, &readings[i - 1], &readings[i], &steps);
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

/* Byte for byte: near the end, and of the few numbers that need more than eight. */
static uint64_t read_slowly(struct reader *reader)
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

/* Eight bytes at once and without a branch: how many bytes a number has follows from noise, which
 * no processor can foresee. */
static inline uint64_t read_number(struct reader *reader)
{
	uint64_t value;

	if (reader->size - reader->position < sizeof(value))
		return read_slowly(reader);
	memcpy(&value, reader->bytes + reader->position, sizeof(value));
	value = le64toh(value);
	uint64_t last = ~value & UINT64_C(0x8080808080808080);
	if (last == 0)
		return read_slowly(reader);
	/* All bits up to the top one of the number's last byte; then the top ones are squeezed out.
	 */
	value &= (last ^ (last - 1)) & UINT64_C(0x7f7f7f7f7f7f7f7f);
	reader->position += ((unsigned)__builtin_ctzll(last) + 1) / 8;
	value = (value & UINT64_C(0x007f007f007f007f)) |
		(value & UINT64_C(0x7f007f007f007f00)) >> 1;
	value = (value & UINT64_C(0x00003fff00003fff)) |
		(value & UINT64_C(0x3fff00003fff0000)) >> 2;
	return (value & UINT64_C(0x000000000fffffff)) | (value & UINT64_C(0x0fffffff00000000)) >> 4;
}

static inline uint64_t read_signed(struct reader *reader)
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

static void read_values(
	struct reader *reader, struct reading *readings, size_t count, uint64_t version)
{
	uint64_t time = read_signed(reader), step = read_signed(reader);
	uint64_t mantissa = read_signed(reader), moved = 0, counter = 0;
	struct steps steps = {.version = version, .time = step};

	if (version == VERSION_FULL) {
		moved = read_signed(reader);
		counter = read_signed(reader);
		steps.counter = read_signed(reader);
		steps.with = read_number(reader);
		if (steps.with > (WITH_MOVED | WITH_COUNTER) && reader->error == CHUNK_OK)
			reader->error = CHUNK_VALUE;
	}
	for (size_t i = 0; i < count; i++) {
		if (i > 0) {
			time += step + read_signed(reader);
			mantissa += read_signed(reader);
			moved += steps.with & WITH_MOVED ? read_signed(reader) : 0;
			counter += steps.counter;
			counter += steps.with & WITH_COUNTER ? read_signed(reader) : 0;
		}
		readings[i].time.ns = (int64_t)time;
		readings[i].value.mantissa = (int64_t)mantissa;
		readings[i].moved_ns = (int64_t)moved;
		readings[i].counter = (int64_t)counter;
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
	uint64_t version = read_number(&reader);
	if (version != VERSION_PLAIN && version != VERSION_FULL)
		return CHUNK_VERSION;
	uint64_t announced = read_number(&reader);
	if (announced == 0 || announced > CHUNK_READINGS_MAX)
		return CHUNK_VALUE;
	read_groups(&reader, readings, announced);
	read_values(&reader, readings, announced, version);
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
