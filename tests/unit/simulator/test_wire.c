/* SPDX-License-Identifier: MIT
 *
 * What goes on the wire: the dialects read back by the decoders of the same name; and the source of
 * the simulator's chance.
 */
#include "dialect.h"
#include "measure/decoder.h"
#include "random.h"
#include "unit/check.h"

#include <string.h>

static const struct decoder_setup standard;

static void check_line(const struct dialect_setup *setup, double load_newton, const char *expected)
{
	char line[DIALECT_LINE_MAX + 1];
	size_t length = dialect_find("plain")->write(setup, load_newton, line);
	line[length] = '\0';
	assert_string_equal(line, expected);
}

static void test_plain_lines(void **state)
{
	(void)state;
	const struct dialect_setup kn = {.unit = UNIT_KILONEWTON, .decimals = 2};
	const struct dialect_setup coarse = {
		.unit = UNIT_KILONEWTON, .decimals = 2, .resolution_newton = 50};
	const struct dialect_setup pounds = {.unit = UNIT_POUND_FORCE, .decimals = 0};
	check_line(&kn, 123450, "   123.45 kN\r\n");
	check_line(&kn, -10, "    -0.01 kN\r\n");
	check_line(&kn, 0, "     0.00 kN\r\n");
	check_line(&coarse, 123474, "   123.45 kN\r\n");
	check_line(&coarse, 123476, "   123.50 kN\r\n");
	check_line(&pounds, 100000 * 4.4482216152605, "   100000 lbf\r\n");
}

static void test_decoder_reads_what_the_dialect_writes(void **state)
{
	(void)state;
	const struct dialect_setup setup = {.unit = UNIT_KILONEWTON, .decimals = 3};
	const struct decoder *decoder = decoder_find("plain");
	assert_non_null(decoder);
	for (int newton = -50; newton < 2000000; newton += 7919) {
		char line[DIALECT_LINE_MAX];
		struct reading reading;
		enum decoder_error error;
		size_t length = dialect_find("plain")->write(&setup, newton, line);
		int taken =
			decoder->decode(&standard, (unsigned char *)line, length, &reading, &error);
		/* the line is complete with the first byte of its CR LF */
		assert_int_equal(taken, length - 1);
		assert_int_equal(reading.value.mantissa, newton);
		assert_int_equal(reading.value.exponent, -3);
		assert_int_equal(reading.unit, UNIT_KILONEWTON);
	}
}

/* Written apart from the decoders, and read by them. */
static void check_reply(const char *name, const struct decoder_setup *setup,
	const struct dialect_setup *line, double load_newton, struct reading *reading)
{
	char bytes[DIALECT_LINE_MAX];
	enum decoder_error error = DECODER_OK;
	size_t length = dialect_find(name)->write(line, load_newton, bytes);
	int taken =
		decoder_find(name)->decode(setup, (unsigned char *)bytes, length, reading, &error);
	if (taken != (int)length)
		fail_msg("%s: %d of %zu, %s", name, taken, length, decoder_error_text(error));
}

static void test_sma_and_modbus_are_read_back(void **state)
{
	(void)state;
	struct dialect_setup line = {.unit = UNIT_POUND_FORCE, .decimals = 1, .address = 7};
	struct decoder_setup setup = {.modbus = {7, 3, 0, MODBUS_INT32, MODBUS_ABCD}};
	struct reading reading;
	for (int tenths = -500; tenths < 4000000; tenths += 39877) {
		double newton = tenths / 10.0 * UNITS_NEWTON_PER_LBF;
		check_reply("sma", &standard, &line, newton, &reading);
		assert_int_equal(reading.value.mantissa, tenths);
		assert_int_equal(reading.value.exponent, -1);
		assert_int_equal(reading.unit, UNIT_POUND_FORCE);
		assert_int_equal(reading.status, tenths == 0 ? READING_ZERO : 0);
		check_reply("modbus-rtu", &setup, &line, newton, &reading);
		assert_int_equal(reading.value.mantissa, tenths);
	}
	check_reply("sma", &standard, &line, 0, &reading);
	assert_int_equal(reading.status, READING_ZERO);
}

static struct dialect_request asked(const char *name, const unsigned char *bytes, size_t length)
{
	struct dialect_request request;
	dialect_find(name)->read(bytes, length, &request);
	return request;
}

static void test_requests_are_understood(void **state)
{
	(void)state;
	unsigned char bytes[DECODER_REQUEST_MAX + 1];
	struct decoder_setup setup = {.modbus = {7, 3, 0, MODBUS_INT32, MODBUS_ABCD}};
	size_t length = decoder_find("sma")->ask(&setup, bytes);
	assert_int_equal(asked("sma", bytes, length).asked, DIALECT_ONE);
	assert_int_equal(asked("sma", bytes, length - 1).used, 0);
	length = decoder_find("sma")->ask_repeated(&setup, bytes);
	assert_int_equal(asked("sma", bytes, length).asked, DIALECT_REPEATED);
	assert_int_equal(asked("sma", (const unsigned char *)"\nQ\r", 3).asked, DIALECT_OTHER);
	assert_int_equal(asked("sma", (const unsigned char *)"W\r", 2).used, 1);

	length = decoder_find("modbus-rtu")->ask(&setup, bytes);
	assert_int_equal(asked("modbus-rtu", bytes, length).asked, DIALECT_ONE);
	assert_int_equal(asked("modbus-rtu", bytes, length).address, 7);
	assert_int_equal(asked("modbus-rtu", bytes, length - 1).used, 0);
	bytes[4] ^= 1;
	assert_int_equal(asked("modbus-rtu", bytes, length).asked, DIALECT_NOTHING);
	/* What is asked wrongly gets the standard's exceptions. */
	setup.modbus.first = 1;
	length = decoder_find("modbus-rtu")->ask(&setup, bytes);
	struct dialect_request request = asked("modbus-rtu", bytes, length);
	struct reading reading;
	enum decoder_error error = DECODER_OK;
	decoder_find("modbus-rtu")
		->decode(&setup, (unsigned char *)request.reply, request.reply_length, &reading,
			&error);
	assert_int_equal(error, DECODER_NO_REGISTER);
	setup.modbus.function = 4;
	length = decoder_find("modbus-rtu")->ask(&setup, bytes);
	request = asked("modbus-rtu", bytes, length);
	decoder_find("modbus-rtu")
		->decode(&setup, (unsigned char *)request.reply, request.reply_length, &reading,
			&error);
	assert_int_equal(error, DECODER_NO_FUNCTION);
}

/* The published first outputs of splitmix64 for seed 1234567 are what seeds the state. */
static void test_generator_is_the_published_one(void **state)
{
	(void)state;
	struct random random;
	random_init(&random, 1234567);
	assert_true(random.state[0] == UINT64_C(6457827717110365317));
	assert_true(random.state[1] == UINT64_C(3203168211198807973));
	assert_true(random.state[2] == UINT64_C(9817491932198370423));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_plain_lines),
		cmocka_unit_test(test_decoder_reads_what_the_dialect_writes),
		cmocka_unit_test(test_sma_and_modbus_are_read_back),
		cmocka_unit_test(test_requests_are_understood),
		cmocka_unit_test(test_generator_is_the_published_one),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
