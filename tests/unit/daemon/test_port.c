/* SPDX-License-Identifier: MIT
 *
 * Ports: how a pseudo terminal is set up, and what is refused. The way through libserialport is in
 * test_serial.c.
 */
#include "port.h"
#include "unit/check.h"

#include <errno.h>
#include <fcntl.h>
#include <pty.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

static int make_terminal(struct port_settings *settings)
{
	int master = -1, slave = -1;
	char name[64];

	assert_int_equal(openpty(&master, &slave, name, NULL, NULL), 0);
	close(slave);
	*settings = (struct port_settings){
		.baud = 19200, .data_bits = 8, .parity = 'N', .stop_bits = 1};
	snprintf(settings->device, sizeof settings->device, "%s", name);
	return master;
}

static void test_mode(void **state)
{
	struct port_settings settings;
	struct message why = {""};
	struct termios mode;
	char bytes[16];

	(void)state;
	int master = make_terminal(&settings);
	struct port *port = port_open(&settings, &why);
	if (!port)
		fail_msg("%s", why.text);
	int descriptor = port_descriptor(port);
	assert_string_equal(port_node(port), settings.device);
	assert_string_equal(port_remark(port), "");
	assert_true(fcntl(descriptor, F_GETFD) & FD_CLOEXEC);
	assert_true(fcntl(descriptor, F_GETFL) & O_NONBLOCK);
	assert_int_equal(tcgetattr(master, &mode), 0);
	assert_int_equal(cfgetispeed(&mode), B19200);
	assert_false(mode.c_lflag & (ECHO | ICANON));
	/* no data is no end */
	assert_int_equal(read(descriptor, bytes, sizeof bytes), -1);
	assert_int_equal(errno, EAGAIN);
	/* bytes as sent, no line ends turned */
	assert_int_equal(write(master, "1\r\n\x11\x13", 5), 5);
	assert_int_equal(read(descriptor, bytes, sizeof bytes), 5);
	assert_memory_equal(bytes, "1\r\n\x11\x13", 5);
	/* unplugged */
	close(master);
	assert_int_equal(read(descriptor, bytes, sizeof bytes), 0);
	port_close(port);
}

static void test_lock_and_links(void **state)
{
	struct port_settings settings;
	struct message why = {""};
	char link[] = "/tmp/ramplog-port-XXXXXX", path[64], node[PORT_PATH_SIZE];

	(void)state;
	int master = make_terminal(&settings);
	assert_non_null(mkdtemp(link));
	snprintf(path, sizeof path, "%s/cell", link);
	snprintf(node, sizeof node, "%s", settings.device);
	assert_int_equal(symlink(node, path), 0);
	snprintf(settings.device, sizeof settings.device, "%s", path);
	struct port *port = port_open(&settings, &why);
	assert_non_null(port);
	assert_string_equal(port_node(port), node);
	assert_null(port_open(&settings, &why));
	assert_non_null(strstr(why.text, "in use by another program"));
	port_close(port);
	port = port_open(&settings, &why);
	assert_non_null(port);
	port_close(port);
	close(master);
	unlink(path);
	rmdir(link);
}

static void test_what_came_before_is_gone(void **state)
{
	struct port_settings settings;
	struct message why = {""};
	char bytes[16];

	(void)state;
	int master = make_terminal(&settings);
	struct port *port = port_open(&settings, &why);
	assert_int_equal(write(master, "old\n", 4), 4);
	port_close(port);
	port = port_open(&settings, &why);
	assert_int_equal(read(port_descriptor(port), bytes, sizeof bytes), -1);
	port_close(port);
	close(master);
}

static void test_parity_is_a_remark(void **state)
{
	struct port_settings settings;
	struct message why = {""};

	(void)state;
	int master = make_terminal(&settings);
	settings.data_bits = 7;
	settings.parity = 'E';
	struct port *port = port_open(&settings, &why);
	assert_non_null(port);
	assert_non_null(strstr(port_remark(port), "parity"));
	port_close(port);
	close(master);
}

static void test_refusals(void **state)
{
	static const struct {
		const char *device, *why;
	} CASES[] = {
		{"/dev/nonexistent", "No such file"},
		{"/dev/null", "no serial port"},
		{"/tmp", "/tmp"},
	};
	struct port_settings settings = {
		.baud = 9600, .data_bits = 8, .parity = 'N', .stop_bits = 1};

	(void)state;
	for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
		struct message why = {""};

		snprintf(settings.device, sizeof settings.device, "%s", CASES[i].device);
		assert_null(port_open(&settings, &why));
		if (!strstr(why.text, CASES[i].why))
			fail_msg("%s: %s", CASES[i].device, why.text);
	}
}

static void test_time_of_a_byte(void **state)
{
	struct port_settings settings = {
		.baud = 9600, .data_bits = 8, .parity = 'N', .stop_bits = 1};

	(void)state;
	/* 10 bits at 9600 baud: 1.0417 ms */
	assert_int_equal(port_ns_per_byte(&settings), 1041666);
	settings =
		(struct port_settings){.baud = 1200, .data_bits = 7, .parity = 'E', .stop_bits = 2};
	/* 11 bits at 1200 baud: 9.1667 ms */
	assert_int_equal(port_ns_per_byte(&settings), 9166666);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_mode),
		cmocka_unit_test(test_lock_and_links),
		cmocka_unit_test(test_what_came_before_is_gone),
		cmocka_unit_test(test_parity_is_a_remark),
		cmocka_unit_test(test_refusals),
		cmocka_unit_test(test_time_of_a_byte),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
