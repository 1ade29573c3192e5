/* SPDX-License-Identifier: MIT
 *
 * Modbus RTU: frames of the standard's own examples, and libmodbus as an independent peer behind a
 * pseudo terminal.
 */
#include "measure/modbus.h"
#include "measure/stream.h"
#include "unit/check.h"

#include <modbus.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static struct decoder_setup map(int address, int function, int first, enum modbus_type type)
{
	return (struct decoder_setup){.modbus = {address, function, first, type, MODBUS_ABCD}};
}

/* The check value of CRC-16/MODBUS in the catalogue of parametrised CRC algorithms; and the example
 * of "MODBUS over serial line" V1.02, 6.2.2: 02 07 has 1241, sent as 41 12. */
static void the_crc_is_the_published_one(void **state)
{
	(void)state;
	static const unsigned char example[] = {0x02, 0x07};
	assert_int_equal(modbus_crc((const unsigned char *)"123456789", 9), 0x4b37);
	assert_int_equal(modbus_crc(example, sizeof example), 0x1241);
}

static void check_reply(const struct decoder_setup *setup, const unsigned char *bytes, size_t size,
	int64_t mantissa, int exponent)
{
	struct reading reading;
	enum decoder_error error = DECODER_OK;
	for (size_t part = 0; part < size; part++)
		assert_int_equal(modbus_decode(setup, bytes, part, &reading, &error), 0);
	int used = modbus_decode(setup, bytes, size, &reading, &error);
	if (used != (int)size)
		fail_msg("%d, %s", used, decoder_error_text(error));
	assert_int_equal(modbus_reply_size(setup), size);
	assert_int_equal(reading.value.mantissa, mantissa);
	assert_int_equal(reading.value.exponent, exponent);
	assert_int_equal(reading.unit, UNIT_NONE);
	assert_int_equal(reading.status, 0);
}

/* Application protocol V1.1b3, 6.4: input register 9 (0008 on the wire) is 10: 04 00 08 00 01,
 * 04 02 00 0A; here with address 1, 8E1 line, and the CRC of the test above. */
static void the_example_of_function_4(void **state)
{
	(void)state;
	unsigned char bytes[DECODER_REQUEST_MAX];
	static const unsigned char request[] = {0x01, 0x04, 0x00, 0x08, 0x00, 0x01};
	unsigned char reply[] = {0x01, 0x04, 0x02, 0x00, 0x0a, 0, 0};
	struct decoder_setup setup = map(1, 4, 8, MODBUS_UINT16);
	uint16_t crc = modbus_crc(reply, 5);
	reply[5] = (unsigned char)(crc & 0xff);
	reply[6] = (unsigned char)(crc >> 8);
	assert_int_equal(modbus_ask(&setup, bytes), MODBUS_REQUEST_SIZE);
	assert_memory_equal(bytes, request, sizeof request);
	assert_int_equal(modbus_crc(bytes, MODBUS_REQUEST_SIZE), 0); /* as every whole frame */
	check_reply(&setup, reply, sizeof reply, 10, 0);
}

/* Frames with their CRCs computed apart from this code. */
static const unsigned char abcd[] = {0x01, 0x04, 0x04, 0x47, 0xf1, 0x20, 0x00, 0xa7, 0x03};
static const unsigned char cdab[] = {0x01, 0x04, 0x04, 0x20, 0x00, 0x47, 0xf1, 0x02, 0x30};
static const unsigned char negative[] = {0x01, 0x04, 0x04, 0xff, 0xff, 0xfb, 0x1e, 0x38, 0x98};
static const unsigned char exception[] = {0x01, 0x84, 0x02, 0xc2, 0xc1};

static void types_and_orders(void **state)
{
	(void)state;
	struct decoder_setup setup = map(1, 4, 0, MODBUS_FLOAT32);
	static const unsigned char request[] = {0x01, 0x04, 0, 0, 0, 0x02, 0x71, 0xcb};
	unsigned char bytes[DECODER_REQUEST_MAX];
	assert_int_equal(modbus_ask(&setup, bytes), sizeof request);
	assert_memory_equal(bytes, request, sizeof request);
	check_reply(&setup, abcd, sizeof abcd, 123456, 0);
	setup.modbus.order = MODBUS_CDAB;
	check_reply(&setup, cdab, sizeof cdab, 123456, 0);
	setup = map(1, 4, 0, MODBUS_INT32);
	check_reply(&setup, negative, sizeof negative, -1250, 0);
	setup.modbus.type = MODBUS_UINT32;
	check_reply(&setup, negative, sizeof negative, INT64_C(0xfffffb1e), 0);
	/* 04 47 f1 20 in the order of other makers, all of the same bytes */
	setup.modbus.order = MODBUS_BADC;
	check_reply(&setup, abcd, sizeof abcd, INT64_C(0xf1470020), 0);
	setup.modbus.order = MODBUS_DCBA;
	check_reply(&setup, abcd, sizeof abcd, INT64_C(0x0020f147), 0);
}

static struct decimal decode_float(float value, unsigned *status)
{
	struct decoder_setup setup = map(1, 3, 0, MODBUS_FLOAT32);
	unsigned char reply[MODBUS_REPLY_MAX] = {1, 3, 4};
	struct reading reading;
	enum decoder_error error;
	uint32_t bits;
	memcpy(&bits, &value, sizeof bits);
	for (int i = 0; i < 4; i++)
		reply[3 + i] = (unsigned char)(bits >> (24 - 8 * i));
	uint16_t crc = modbus_crc(reply, 7);
	reply[7] = (unsigned char)(crc & 0xff);
	reply[8] = (unsigned char)(crc >> 8);
	assert_int_equal(
		modbus_decode(&setup, reply, sizeof reply, &reading, &error), MODBUS_REPLY_MAX);
	*status = reading.status;
	return reading.value;
}

static void floats_come_back_from_their_digits(void **state)
{
	(void)state;
	unsigned status = 0;
	static const struct {
		float value;
		struct decimal digits;
	} cases[] = {{0.0f, {0, 0}}, {-0.0f, {0, 0}}, {0.1f, {1, -1}}, {123.456f, {123456, -3}},
		{-1250.5f, {-12505, -1}}, {16777216.0f, {16777216, 0}}, {1e-3f, {1, -3}},
		{999999936.0f, {999999936, 0}}};
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		struct decimal digits = decode_float(cases[i].value, &status);
		assert_int_equal(status, 0);
		assert_int_equal(digits.mantissa, cases[i].digits.mantissa);
		assert_int_equal(digits.exponent, cases[i].digits.exponent);
	}
	srand48(4);
	for (int i = 0; i < 20000; i++) {
		float value = (float)(ldexp(drand48(), (int)(lrand48() % 50) - 20));
		struct decimal digits = decode_float(value, &status);
		assert_int_equal(status, 0);
		if ((float)decimal_double(digits) != value)
			fail_msg("%.9g came back as %.17g", (double)value, decimal_double(digits));
	}
	decode_float(NAN, &status);
	assert_int_equal(status, READING_INVALID);
	decode_float(-INFINITY, &status);
	assert_int_equal(status, READING_INVALID);
	decode_float(3e38f, &status);
	assert_int_equal(status, READING_INVALID);
	decode_float(1e-40f, &status);
	assert_int_equal(status, 0);
}

static void exceptions_are_named(void **state)
{
	(void)state;
	static const struct {
		unsigned char code;
		enum decoder_error error;
	} cases[] = {{1, DECODER_NO_FUNCTION}, {2, DECODER_NO_REGISTER}, {3, DECODER_NO_VALUE},
		{4, DECODER_FAILURE}, {5, DECODER_ACKNOWLEDGED}, {6, DECODER_BUSY},
		{7, DECODER_EXCEPTION}, {8, DECODER_MEMORY}, {10, DECODER_NO_PATH},
		{11, DECODER_NO_TARGET}, {0, DECODER_EXCEPTION}, {200, DECODER_EXCEPTION}};
	struct decoder_setup setup = map(1, 4, 0, MODBUS_FLOAT32);
	struct reading reading;
	enum decoder_error error = DECODER_OK;
	assert_int_equal(modbus_decode(&setup, exception, sizeof exception, &reading, &error),
		-MODBUS_EXCEPTION_SIZE);
	assert_int_equal(error, DECODER_NO_REGISTER);
	for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); i++) {
		unsigned char reply[MODBUS_EXCEPTION_SIZE] = {1, 0x84, cases[i].code};
		uint16_t crc = modbus_crc(reply, 3);
		reply[3] = (unsigned char)(crc & 0xff);
		reply[4] = (unsigned char)(crc >> 8);
		assert_int_equal(modbus_decode(&setup, reply, 4, &reading, &error), 0);
		assert_int_equal(modbus_decode(&setup, reply, sizeof reply, &reading, &error),
			-MODBUS_EXCEPTION_SIZE);
		assert_int_equal(error, cases[i].error);
	}
}

struct kept {
	size_t count;
	int64_t mantissas[8];
};

static void keep(void *context, const struct reading *reading)
{
	struct kept *kept = context;
	assert_true(kept->count < 8);
	kept->mantissas[kept->count++] = reading->value.mantissa;
}

/* Noise, a reply, one of another address, one that is damaged, an exception, a reply. */
static void any_cut_gives_the_same_readings(void **state)
{
	(void)state;
	unsigned char wire[64];
	size_t length = 0;
	struct decoder_setup setup = map(1, 4, 0, MODBUS_FLOAT32);
	wire[length++] = 0xff;
	wire[length++] = 0x01; /* a false start */
	for (int i = 0; i < 3; i++) {
		memcpy(wire + length, abcd, sizeof abcd);
		if (i == 1)
			wire[length] = 9;
		if (i == 2)
			wire[length + 4] ^= 0x40;
		length += sizeof abcd;
	}
	memcpy(wire + length, exception, sizeof exception);
	length += sizeof exception;
	memcpy(wire + length, abcd, sizeof abcd);
	length += sizeof abcd;
	uint64_t errors = 0;
	for (size_t chunk = 1; chunk <= length; chunk++) {
		struct stream stream;
		struct kept kept = {0};
		stream_init(&stream, decoder_find("modbus-rtu"), &setup, 0);
		for (size_t at = 0; at < length; at += chunk)
			stream_feed(&stream, wire + at, length - at < chunk ? length - at : chunk,
				(struct mono_time){0}, keep, &kept);
		assert_int_equal(kept.count, 2);
		assert_int_equal(kept.mantissas[0], 123456);
		assert_int_equal(kept.mantissas[1], 123456);
		if (chunk == 1)
			errors = stream.error_count;
		assert_int_equal(stream.error_count, errors);
		assert_int_equal(stream.last_error, DECODER_NO_REGISTER);
	}
}

static void the_silence_is_three_and_a_half_characters(void **state)
{
	(void)state;
	/* V1.02, 2.5.1.1: fixed at 1.750 ms above 19200 baud; 11 bits a character */
	assert_int_equal(modbus_silence_ns(11 * INT64_C(1000000000) / 9600, 9600), 4010415);
	assert_int_equal(modbus_silence_ns(95486, 115200), 1750000);
}

/* ---- libmodbus answers */

enum { PEER_ADDRESS = 17 };

/* Serves requests on the terminal until it is killed. */
static void serve(const char *device)
{
	modbus_t *peer = modbus_new_rtu(device, 115200, 'N', 8, 1);
	modbus_mapping_t *mapping = modbus_mapping_new(0, 0, 20, 20);
	uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
	if (!peer || !mapping || modbus_set_slave(peer, PEER_ADDRESS) != 0 ||
		modbus_connect(peer) != 0)
		_exit(1);
	mapping->tab_registers[3] = 0xfb1e;       /* -1250 */
	mapping->tab_input_registers[8] = 0x47f1; /* 123456.0 */
	mapping->tab_input_registers[9] = 0x2000;
	for (;;) {
		int length = modbus_receive(peer, request);
		if (length > 0)
			modbus_reply(peer, request, length, mapping);
	}
}

/* Sends one request and feeds what comes until there is a reading or an error. */
static enum decoder_error ask_peer(
	int master, const struct decoder_setup *setup, struct reading *reading)
{
	unsigned char request[DECODER_REQUEST_MAX], bytes[64];
	size_t size = modbus_ask(setup, request), length = 0;
	enum decoder_error error = DECODER_OK;
	assert_int_equal(write(master, request, size), (ssize_t)size);
	for (;;) {
		struct pollfd ready = {.fd = master, .events = POLLIN};
		if (poll(&ready, 1, 20000) <= 0)
			fail_msg("the peer does not answer");
		ssize_t got = read(master, bytes + length, sizeof bytes - length);
		assert_true(got > 0);
		length += (size_t)got;
		int used = modbus_decode(setup, bytes, length, reading, &error);
		if (used != 0) {
			assert_int_equal(abs(used), (int)length);
			return used > 0 ? DECODER_OK : error;
		}
	}
}

static void libmodbus_understands_and_is_understood(void **state)
{
	(void)state;
	int master = -1, slave = -1;
	char device[64];
	struct termios mode;
	assert_int_equal(openpty(&master, &slave, device, NULL, NULL), 0);
	assert_int_equal(tcgetattr(slave, &mode), 0);
	cfmakeraw(&mode);
	assert_int_equal(tcsetattr(slave, TCSANOW, &mode), 0);
	pid_t pid = fork();
	assert_true(pid >= 0);
	if (pid == 0) {
		close(master);
		serve(device);
	}
	struct reading reading;
	struct decoder_setup setup = map(PEER_ADDRESS, 3, 3, MODBUS_INT16);
	assert_int_equal(ask_peer(master, &setup, &reading), DECODER_OK);
	assert_int_equal(reading.value.mantissa, -1250);
	setup = map(PEER_ADDRESS, 4, 8, MODBUS_FLOAT32);
	assert_int_equal(ask_peer(master, &setup, &reading), DECODER_OK);
	assert_int_equal(reading.value.mantissa, 123456);
	setup = map(PEER_ADDRESS, 4, 19, MODBUS_FLOAT32);
	assert_int_equal(ask_peer(master, &setup, &reading), DECODER_NO_REGISTER);
	kill(pid, SIGKILL);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	close(slave);
	close(master);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_crc_is_the_published_one),
		cmocka_unit_test(the_example_of_function_4),
		cmocka_unit_test(types_and_orders),
		cmocka_unit_test(floats_come_back_from_their_digits),
		cmocka_unit_test(exceptions_are_named),
		cmocka_unit_test(any_cut_gives_the_same_readings),
		cmocka_unit_test(the_silence_is_three_and_a_half_characters),
		cmocka_unit_test(libmodbus_understands_and_is_understood),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
