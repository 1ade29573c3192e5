/* SPDX-License-Identifier: MIT
 *
 * Several instruments on one line, in virtual time: what one of them does, or does not, is not the
 * others'.
 */
#include "dialect.h"
#include "unit/check.h"
#include "virtual.h"

#include "base/clocks.h"
#include "measure/modbus.h"

#include <stdio.h>
#include <string.h>

enum { SLAVES_MAX = 4 };
static const int64_t STEP_NS = CLOCKS_NS_PER_MS / 4;
/* Of a reply, behind the request, and its bytes on the wire at 115200 baud. */
static const int64_t REPLY_NS = 5 * CLOCKS_NS_PER_MS;

/* What the last slave of the line does with a request. */
enum mischief {
	MISCHIEF_NONE,
	MISCHIEF_OTHER_ADDRESS, /* always: names slave 1 as the sender */
	MISCHIEF_CRC,           /* always: wrong by a bit */
	MISCHIEF_EXCEPTION,     /* always: "no such register" */
	MISCHIEF_LATE,          /* once: behind the time in which it is waited for */
};

struct reply {
	int64_t time_ns; /* when it goes out */
	size_t length;
	char bytes[DIALECT_LINE_MAX];
};

struct slaves {
	int count; /* at the addresses 1 ... */
	double load_newton;
	enum mischief mischief;
	unsigned char asked[64];
	size_t asked_length;
	size_t reply_count;
	struct reply replies[8];
	int asked_count[2 * SLAVES_MAX];
};

static const struct dialect *modbus(void)
{
	return dialect_find("modbus-rtu");
}

static void answer(struct slaves *slaves, int address)
{
	struct reply *reply = &slaves->replies[slaves->reply_count++];
	enum mischief mischief = address == slaves->count ? slaves->mischief : MISCHIEF_NONE;
	struct dialect_setup own = {.unit = UNIT_KILONEWTON,
		.decimals = 2,
		.address = mischief == MISCHIEF_OTHER_ADDRESS ? 1 : address};

	assert_true(slaves->reply_count <= 8);
	reply->length = modbus()->write(&own, slaves->load_newton, reply->bytes);
	reply->time_ns = loop_now_ns() + REPLY_NS;
	if (mischief == MISCHIEF_CRC)
		reply->bytes[reply->length - 1] ^= 1;
	if (mischief == MISCHIEF_LATE) {
		reply->time_ns += 250 * CLOCKS_NS_PER_MS;
		slaves->mischief = MISCHIEF_NONE;
	}
	if (mischief == MISCHIEF_EXCEPTION) {
		struct dialect_request refused;
		unsigned char wrong[] = {(unsigned char)address, 3, 0, 9, 0, 1, 0, 0};
		uint16_t crc = modbus_crc(wrong, 6);

		wrong[6] = (unsigned char)(crc & 0xff);
		wrong[7] = (unsigned char)(crc >> 8);
		modbus()->read(wrong, sizeof wrong, &refused);
		reply->length = refused.reply_length;
		memcpy(reply->bytes, refused.reply, refused.reply_length);
	}
}

static void hear(struct slaves *slaves)
{
	struct dialect_request request;

	slaves->asked_length += virtual_asked(0, slaves->asked + slaves->asked_length,
		sizeof slaves->asked - slaves->asked_length);
	if (slaves->asked_length == 0)
		return;
	modbus()->read(slaves->asked, slaves->asked_length, &request);
	if (request.used == 0)
		return;
	assert_int_equal(request.used, slaves->asked_length);
	assert_int_equal(request.asked, DIALECT_ONE);
	slaves->asked_length = 0;
	assert_in_range(request.address, 1, 2 * SLAVES_MAX - 1);
	slaves->asked_count[request.address]++;
	if (request.address <= slaves->count)
		answer(slaves, request.address);
}

static void send_replies(struct slaves *slaves)
{
	for (size_t i = slaves->reply_count; i-- > 0;) {
		const struct reply reply = slaves->replies[i];

		if (reply.time_ns > loop_now_ns())
			continue;
		slaves->replies[i] = slaves->replies[--slaves->reply_count];
		virtual_send(0, reply.bytes, reply.length);
	}
}

static void play_slaves(struct slaves *slaves, int64_t for_ns, double newton_s)
{
	for (int64_t end_ns = loop_now_ns() + for_ns; loop_now_ns() < end_ns;) {
		loop_run_to(loop_now_ns() + STEP_NS);
		slaves->load_newton += newton_s * (double)STEP_NS * 1e-9;
		hear(slaves);
		send_replies(slaves);
	}
}

static void slaves_config(char *text, size_t size, int present, int silent)
{
	size_t length = (size_t)snprintf(text, size, "[press north]\ncapacity = 2000 kN\n%s",
		silent ? "[press away]\ncapacity = 2000 kN\n" : "");

	for (int address = 1; address <= present + silent; address++)
		length += (size_t)snprintf(text + length, size - length,
			"[cell cell-%d]\npress = %s\ndevice = port-0\nbaud = 115200\n"
			"decoder = modbus-rtu\nfactor = 0.01\naddress = %d\n",
			address, address > present ? "away" : "north", address);
	assert_true(length < size);
}

static void break_slaves(struct slaves *slaves)
{
	play_slaves(slaves, 2 * CLOCKS_NS_PER_S, 0);
	play_slaves(slaves, 10 * CLOCKS_NS_PER_S, 20000);
	slaves->load_newton = 0;
	play_slaves(slaves, 5 * CLOCKS_NS_PER_S, 0);
}

/* A break on the press of the slaves 1 ... present; what is at the next addresses is another's. */
static void check_beside(void **state, struct slaves *slaves, int present, int others)
{
	struct virtual *all = *state;
	char config[2048];

	slaves_config(config, sizeof config, present, others);
	virtual_start(all, config, 1);
	virtual_open(all);
	break_slaves(slaves);
	const struct run_record *record = virtual_run(all, 1);
	print_message("asked");
	for (int address = 1; address <= present + others; address++)
		print_message(" %d", slaves->asked_count[address]);
	print_message(" times, %zu events\n", record->outcome.judgement.event_count);
	assert_int_equal(record->outcome.judgement.end, END_BROKEN);
	check_near((double)record->outcome.judgement.maximum_un * 1e-6, present * 200000.0, 20000);
	assert_int_equal(record->outcome.judgement.event_count, 0);
}

/* Its readings come on, with no hole that its runs would have to tell of. */
static void test_silent_slaves_hold_up_nobody(void **state)
{
	for (int silent = 0; silent <= 3; silent++) {
		struct slaves slaves = {.count = 3};

		check_beside(state, &slaves, 3, silent);
		virtual_stop(*state);
		assert_int_equal(virtual_teardown(state) + virtual_setup(state), 0);
	}
}

static void test_what_a_slave_does_is_not_the_others(void **state)
{
	static const struct {
		enum mischief mischief;
		const char *said; /* of the cell that it is */
	} cases[] = {
		{MISCHIEF_OTHER_ADDRESS, "begin no frame"},
		{MISCHIEF_CRC, "do not give their checksum"},
		{MISCHIEF_EXCEPTION, "refuses what it is asked: Modbus exception 02"},
		{MISCHIEF_LATE, ""},
	};
	struct status_cell status;

	for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
		struct slaves slaves = {.count = 3, .mischief = cases[i].mischief};

		check_beside(state, &slaves, 2, 1);
		virtual_cell(*state, 1, 0, &status);
		print_message("%s: %s\n", status_cell_text(status.state), status.text);
		assert_non_null(strstr(status.text, cases[i].said));
		if (cases[i].mischief == MISCHIEF_LATE)
			assert_int_equal(status.state, CELL_READY);
		else
			assert_int_equal(status.reading_count, 0);
		/* The late reply came to whoever had been asked meanwhile, who lost nothing by it.
		 */
		uint64_t errors = 0;
		for (size_t cell = 0; cell < 2; cell++) {
			virtual_cell(*state, 0, cell, &status);
			errors += (uint64_t)status.error_count;
			assert_in_range(status.reading_count, slaves.asked_count[cell + 1] - 1,
				slaves.asked_count[cell + 1]);
		}
		assert_int_equal(errors, cases[i].mischief == MISCHIEF_LATE);
		virtual_stop(*state);
		assert_int_equal(virtual_teardown(state) + virtual_setup(state), 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		VIRTUAL_TEST(test_silent_slaves_hold_up_nobody),
		VIRTUAL_TEST(test_what_a_slave_does_is_not_the_others),
	};
	return cmocka_run_group_tests(tests, NULL, NULL);
}
