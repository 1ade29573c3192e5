/* SPDX-License-Identifier: MIT
 *
 * The codec of chunks: exact for every value, compact for real ones, unmoved by damage. The random
 * parts print nothing but their seed on failure and take another one as STORE_SEED.
 */
#include "store/chunk.h"

#include "unit/check.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>

static uint64_t state;

/* SplitMix64: small, and good enough to try values. */
static uint64_t random_bits(void)
{
	uint64_t z = (state += 0x9e3779b97f4a7c15);

	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
	z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
	return z ^ (z >> 31);
}

static int seed(void **unused)
{
	const char *text = getenv("STORE_SEED");

	(void)unused;
	state = text ? strtoull(text, NULL, 0) : 1;
	return 0;
}

static void assert_same(const struct reading *one, const struct reading *other)
{
	assert_int_equal(one->time.ns, other->time.ns);
	assert_int_equal(one->value.mantissa, other->value.mantissa);
	assert_int_equal(one->value.exponent, other->value.exponent);
	assert_int_equal(one->unit, other->unit);
	assert_int_equal(one->status, other->status);
	assert_int_equal(one->moved_ns, other->moved_ns);
	assert_int_equal(one->counter, other->counter);
}

/* Through the codec and back, however many chunks it takes; returns the bytes used. */
static size_t check_round(const struct reading *readings, size_t count)
{
	static struct reading back[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	size_t total = 0, size, found;

	while (count > 0) {
		size_t taken = chunk_encode(readings, count, bytes, &size);
		assert_true(taken >= 1 && taken <= count && size <= CHUNK_SIZE_MAX);
		assert_int_equal(chunk_decode(bytes, size, back, &found), CHUNK_OK);
		assert_int_equal(found, taken);
		for (size_t i = 0; i < taken; i++)
			assert_same(&back[i], &readings[i]);
		readings += taken;
		count -= taken;
		total += size;
	}
	return total;
}

/* A ramp of 2 kN/s as a cell sends it: two decimals of a kilonewton, stamped
 * tens of microseconds around the regular instants. */
static void fill_ramp(struct reading *readings, size_t count, int64_t step_ns, int64_t noise)
{
	for (size_t i = 0; i < count; i++) {
		int64_t elapsed = (int64_t)i * step_ns;
		int64_t jitter = (int64_t)(random_bits() % 100000);
		int64_t load = elapsed / 5000000 + (int64_t)(random_bits() % (uint64_t)noise);

		readings[i] = (struct reading){
			.time = {INT64_C(86400000000000) + elapsed + jitter},
			.value = {load, -2},
			.unit = UNIT_KILONEWTON,
			.status = READING_MOTION,
		};
	}
}

static void test_ramp_is_compact(void **unused)
{
	struct reading readings[250];
	(void)unused;

	fill_ramp(readings, 250, 1000000, 40);
	size_t size = check_round(readings, 250);
	print_message("1 kHz: %.2f bytes a reading\n", (double)size / 250);
	assert_true(size < 250 * 9 / 2);
	fill_ramp(readings, 25, 10000000, 4);
	size = check_round(readings, 25);
	print_message("100 Hz: %.2f bytes a reading\n", (double)size / 25);
	assert_true(size < 25 * 6);
}

static void test_any_value_comes_back(void **unused)
{
	static struct reading readings[3000];
	(void)unused;

	for (size_t round = 0; round < 50; round++) {
		for (size_t i = 0; i < 3000; i++) {
			unsigned shift = (unsigned)(random_bits() % 64);
			readings[i] = (struct reading){
				.time = {(int64_t)(random_bits() >> shift)},
				.value = {(int64_t)random_bits() >> shift,
					(int)(random_bits() % 37) - 18},
				.unit = (enum unit)(random_bits() % UNIT_COUNT),
				.status = (unsigned)random_bits(),
			};
			/* Of some chunks all, of some none has them. */
			if (round % 3 == 1 || (round % 3 == 2 && i % 5))
				readings[i].moved_ns = (int64_t)random_bits() >> shift;
			if (round % 4 == 1 || (round % 4 == 2 && i % 7))
				readings[i].counter = (int64_t)random_bits() >> shift;
		}
		check_round(readings, 1 + random_bits() % 3000);
	}
}

/* The example of docs/database.md, taken apart there byte by byte. */
static void test_documented_example(void **unused)
{
	static const unsigned char bytes[] = {0x01, 0x03, 0x03, 0x03, 0x02, 0x04, 0x80, 0x80, 0xc5,
		0x8b, 0xc6, 0xd1, 0x01, 0xb8, 0xf1, 0xc4, 0x09, 0xc4, 0x13, 0x88, 0xa4, 0x01, 0x04,
		0x87, 0xa4, 0x01, 0x01, 0x53, 0x7b, 0x8f, 0x33, 0xee, 0x00, 0x56, 0x44};
	const struct reading readings[] = {
		{.time = {INT64_C(3600000000000)},
			.value = {1250, -2},
			.unit = UNIT_KILONEWTON,
			.status = READING_MOTION},
		{.time = {INT64_C(3600010012000)},
			.value = {1252, -2},
			.unit = UNIT_KILONEWTON,
			.status = READING_MOTION},
		{.time = {INT64_C(3600020003000)},
			.value = {1251, -2},
			.unit = UNIT_KILONEWTON,
			.status = READING_MOTION},
	};
	static struct reading back[CHUNK_READINGS_MAX];
	unsigned char made[CHUNK_SIZE_MAX];
	size_t size, count;
	(void)unused;

	assert_int_equal(chunk_decode(bytes, sizeof(bytes), back, &count), CHUNK_OK);
	assert_int_equal(count, 3);
	for (size_t i = 0; i < 3; i++)
		assert_same(&back[i], &readings[i]);
	assert_int_equal(chunk_encode(readings, 3, made, &size), 3);
	assert_int_equal(size, sizeof(bytes));
	assert_memory_equal(made, bytes, size);
}

/* A stamp that lies one byte behind, and a count of readings: nothing a reading but its first. */
static void test_counters_cost_nothing_while_they_count(void **unused)
{
	static struct reading readings[1000];
	(void)unused;

	for (size_t i = 0; i < 1000; i++)
		readings[i] = (struct reading){
			.time = {(int64_t)i * 1000000},
			.value = {(int64_t)i, -2},
			.unit = UNIT_KILONEWTON,
		};
	size_t without = check_round(readings, 1000);
	for (size_t i = 0; i < 1000; i++) {
		readings[i].moved_ns = 1041666;
		readings[i].counter = (int64_t)(70000 + 3 * i);
	}
	size_t with = check_round(readings, 1000);
	assert_true(with > without && with <= without + 10);
	readings[500].counter++;
	assert_true(check_round(readings, 1000) > without + 999);
}

static void test_extremes(void **unused)
{
	struct reading readings[4] = {
		{.time = {INT64_MIN}, .value = {INT64_MAX, 18}},
		{.time = {INT64_MAX}, .value = {INT64_MIN, -18}, .unit = UNIT_COUNT - 1},
		{.time = {INT64_MIN}, .value = {INT64_MAX, 0}, .status = UINT32_MAX},
		{.time = {0}, .value = {-1, 0}},
	};
	(void)unused;

	check_round(readings, 4);
	check_round(readings, 1);
}

static void test_long_batches_are_split(void **unused)
{
	static struct reading readings[5000];
	unsigned char bytes[CHUNK_SIZE_MAX];
	size_t size;
	(void)unused;

	fill_ramp(readings, 5000, 1000000, 4);
	size_t taken = chunk_encode(readings, 5000, bytes, &size);
	assert_true(taken > 700 && taken <= CHUNK_READINGS_MAX);
	check_round(readings, 5000);
}

static void renew_check(unsigned char *bytes, size_t size)
{
	unsigned char hash[32];

	crypto_generichash(hash, sizeof(hash), bytes, size - 8, NULL, 0);
	memcpy(bytes + size - 8, hash, 8);
}

static void test_every_flipped_bit_is_noticed(void **unused)
{
	struct reading readings[40], back[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	size_t size, count;
	(void)unused;

	fill_ramp(readings, 40, 10000000, 4);
	chunk_encode(readings, 40, bytes, &size);
	for (size_t bit = 0; bit < size * 8; bit++) {
		bytes[bit / 8] ^= (unsigned char)(1 << bit % 8);
		assert_int_equal(chunk_decode(bytes, size, back, &count), CHUNK_CHECK);
		bytes[bit / 8] ^= (unsigned char)(1 << bit % 8);
	}
	for (size_t cut = 0; cut < size; cut++)
		assert_int_not_equal(chunk_decode(bytes, cut, back, &count), CHUNK_OK);
}

/* Damage behind a correct check, as a forger would make it: an error or other readings, never more
 * than fit. The sanitizers watch. */
static void test_forged_bytes_do_no_harm(void **unused)
{
	static struct reading readings[300], back[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX];
	size_t errors[CHUNK_VALUE + 1] = {0};
	size_t size, count;
	(void)unused;

	for (size_t round = 0; round < 20000; round++) {
		size_t length = 1 + random_bits() % 300;
		fill_ramp(readings, length, 1000000, 40);
		chunk_encode(readings, length, bytes, &size);
		for (size_t edits = 1 + random_bits() % 4; edits > 0; edits--)
			bytes[random_bits() % (edits % 2 ? 12 : size)] ^=
				(unsigned char)random_bits();
		if (random_bits() % 4 == 0 && size > 20)
			size -= random_bits() % 10;
		renew_check(bytes, size);
		enum chunk_error error = chunk_decode(bytes, size, back, &count);
		assert_true(count <= CHUNK_READINGS_MAX);
		assert_true(error == CHUNK_OK || count == 0);
		errors[error]++;
	}
	/* The damage did reach the inner checks. */
	assert_true(errors[CHUNK_SHORT] > 0 && errors[CHUNK_VERSION] > 0);
	assert_true(errors[CHUNK_VALUE] > 0 && errors[CHUNK_OK] > 0);
}

static void test_random_bytes_do_no_harm(void **unused)
{
	static struct reading back[CHUNK_READINGS_MAX];
	unsigned char bytes[CHUNK_SIZE_MAX + 1];
	size_t count;
	(void)unused;

	for (size_t round = 0; round < 20000; round++) {
		size_t size = random_bits() % (round % 8 ? 40 : sizeof(bytes));
		for (size_t i = 0; i < size; i++)
			bytes[i] = (unsigned char)random_bits();
		if (size >= 9) {
			bytes[0] = 1;
			renew_check(bytes, size);
		}
		chunk_decode(bytes, size, back, &count);
		assert_true(count <= CHUNK_READINGS_MAX);
	}
	memset(bytes, 0, sizeof(bytes));
	assert_int_equal(chunk_decode(bytes, sizeof(bytes), back, &count), CHUNK_SHORT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_ramp_is_compact),
		cmocka_unit_test(test_any_value_comes_back),
		cmocka_unit_test(test_documented_example),
		cmocka_unit_test(test_counters_cost_nothing_while_they_count),
		cmocka_unit_test(test_extremes),
		cmocka_unit_test(test_long_batches_are_split),
		cmocka_unit_test(test_every_flipped_bit_is_noticed),
		cmocka_unit_test(test_forged_bytes_do_no_harm),
		cmocka_unit_test(test_random_bytes_do_no_harm),
	};

	return cmocka_run_group_tests_name("chunk", tests, seed, NULL);
}
