/* SPDX-License-Identifier: MIT
 *
 * The way through libserialport. In a mount namespace of its own a pseudo terminal is put in the
 * place of an unused serial device that the kernel lists; modem_shim.c answers for its modem lines.
 * Needs root; skipped (exit 77) where that or the namespace is not to be had.
 */
#include "port.h"
#include "unit/check.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sched.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <termios.h>
#include <unistd.h>

enum { EXIT_SKIPPED = 77 };

/* A virtual console that no machine uses. */
static const char NODE[] = "/dev/tty63";

static int master = -1;

/* Puts a new pseudo terminal in the place of NODE. */
static bool plug(void)
{
	int slave = -1;
	char name[64];

	if (openpty(&master, &slave, name, NULL, NULL) != 0)
		return false;
	close(slave);
	return mount(name, NODE, NULL, MS_BIND, NULL) == 0;
}

static void unplug(void)
{
	close(master);
	umount2(NODE, MNT_DETACH);
}

static struct port_settings settings_of(int baud)
{
	struct port_settings settings = {
		.baud = baud, .data_bits = 8, .parity = 'N', .stop_bits = 1};

	snprintf(settings.device, sizeof settings.device, "%s", NODE);
	return settings;
}

static struct port *open_at(int baud)
{
	struct port_settings settings = settings_of(baud);
	struct message why = {""};
	struct port *port = port_open(&settings, &why);

	if (!port)
		fail_msg("%s", why.text);
	return port;
}

static void test_mode(void **state)
{
	struct termios mode;

	(void)state;
	struct port *port = open_at(9600);
	int descriptor = port_descriptor(port);
	assert_string_equal(port_node(port), NODE);
	assert_true(fcntl(descriptor, F_GETFD) & FD_CLOEXEC);
	assert_true(fcntl(descriptor, F_GETFL) & O_NONBLOCK);
	assert_int_equal(tcgetattr(descriptor, &mode), 0);
	assert_int_equal(cfgetispeed(&mode), B9600);
	assert_int_equal(mode.c_cflag & CSIZE, CS8);
	assert_false(mode.c_cflag & (PARENB | CSTOPB | HUPCL | CRTSCTS));
	assert_false(mode.c_lflag & (ICANON | ECHO | ISIG));
	assert_int_equal(mode.c_cc[VMIN], 1);
	assert_int_equal(mode.c_cc[VTIME], 0);
	port_close(port);
	/* no table of speeds in the way */
	port_close(open_at(123456));
}

static void test_reading(void **state)
{
	char sent[2000], got[2000];
	size_t length = 0;

	(void)state;
	struct port *port = open_at(115200);
	struct pollfd ready = {.fd = port_descriptor(port), .events = POLLIN};
	for (size_t i = 0; i < sizeof sent; i++)
		sent[i] = (char)i;
	assert_int_equal(read(ready.fd, got, sizeof got), -1);
	assert_int_equal(errno, EAGAIN);
	assert_int_equal(write(master, sent, sizeof sent), (ssize_t)sizeof sent);
	while (length < sizeof sent && poll(&ready, 1, 5000) == 1) {
		ssize_t got_now = read(ready.fd, got + length, sizeof got - length);

		assert_true(got_now > 0);
		length += (size_t)got_now;
	}
	assert_int_equal(length, sizeof sent);
	assert_memory_equal(got, sent, sizeof sent);
	port_close(port);
}

static void test_one_at_a_time(void **state)
{
	struct port_settings settings = settings_of(9600);
	struct message why = {""};

	(void)state;
	struct port *port = open_at(9600);
	assert_null(port_open(&settings, &why));
	assert_non_null(strstr(why.text, "in use"));
	port_close(port);
	port_close(open_at(9600));
}

/* What the driver cannot do is an error, not a surprise in the readings. */
static void test_refused_format(void **state)
{
	struct port_settings settings = settings_of(9600);
	struct message why = {""};

	(void)state;
	settings.data_bits = 7;
	settings.parity = 'E';
	assert_null(port_open(&settings, &why));
	assert_non_null(strstr(why.text, NODE));
	/* and the port is free again */
	port_close(open_at(9600));
}

static void test_unplugged(void **state)
{
	char byte;

	(void)state;
	struct port *port = open_at(9600);
	unplug();
	ssize_t length = read(port_descriptor(port), &byte, 1);
	assert_true(length == 0 || (length < 0 && errno == EIO));
	port_close(port);
	assert_true(plug());
	port = open_at(9600);
	assert_int_equal(write(master, "x", 1), 1);
	assert_int_equal(read(port_descriptor(port), &byte, 1), 1);
	port_close(port);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_mode),
		cmocka_unit_test(test_reading),
		cmocka_unit_test(test_one_at_a_time),
		cmocka_unit_test(test_refused_format),
		cmocka_unit_test(test_unplugged),
	};

	if (geteuid() != 0 || access("/sys/class/tty/tty63", F_OK) != 0 ||
		unshare(CLONE_NEWNS) != 0 ||
		mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0 || !plug()) {
		fprintf(stderr, "skipped: needs root, %s and a mount namespace\n", NODE);
		return EXIT_SKIPPED;
	}
	return cmocka_run_group_tests(tests, NULL, NULL);
}
