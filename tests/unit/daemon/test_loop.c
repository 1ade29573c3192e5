/* SPDX-License-Identifier: MIT
 *
 * What watches the loop and speaks for it: its lateness, and the words to the service manager.
 */
#include "lateness.h"
#include "notify.h"
#include "now.h"
#include "unit/check.h"

#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

enum { PATIENCE_MS = 20000 };

/* ---- lateness */

static int64_t work_ns;

static void work(uv_timer_t *timer)
{
	int64_t begun_ns = now_mono().ns;

	while (now_mono().ns - begun_ns < work_ns)
		;
	uv_close((uv_handle_t *)timer, NULL);
}

/* The worst that was noticed of a loop whose one callback comes after the wait and works so long.
 */
static int64_t measure(uint64_t wait_ms, int64_t duration_ns)
{
	struct lateness lateness;
	uv_loop_t loop;
	uv_timer_t timer;

	assert_int_equal(uv_loop_init(&loop), 0);
	lateness_init(&lateness, &loop);
	uv_timer_init(&loop, &timer);
	uv_timer_start(&timer, work, wait_ms, 0);
	work_ns = duration_ns;
	uv_run(&loop, UV_RUN_DEFAULT);
	/* One turn more, in which what the last callback took is seen. */
	uv_run(&loop, UV_RUN_NOWAIT);
	lateness_stop(&lateness);
	uv_run(&loop, UV_RUN_DEFAULT);
	assert_int_equal(uv_loop_close(&loop), 0);
	return lateness.worst_ns;
}

static void test_a_callback_that_takes_long(void **state)
{
	int64_t worst_ns = 0;

	(void)state;
	/* A machine that is busy until the timer is due before the first turn leaves nothing to
	 * see. */
	for (int i = 0; i < 20 && worst_ns <= LATENESS_NS; i++)
		worst_ns = measure(1, LATENESS_NS + 20 * CLOCKS_NS_PER_MS);
	assert_true(worst_ns > LATENESS_NS);
}

static void test_a_callback_that_does_not(void **state)
{
	int64_t worst_ns = INT64_MAX;

	(void)state;
	/* A busy machine may be late by itself, but not each time. */
	for (int i = 0; i < 20 && worst_ns > LATENESS_NS; i++)
		worst_ns = measure(1, CLOCKS_NS_PER_MS);
	assert_true(worst_ns <= LATENESS_NS);
	/* Nor is a wait that was asked for. */
	worst_ns = INT64_MAX;
	for (int i = 0; i < 20 && worst_ns > LATENESS_NS; i++)
		worst_ns = measure(150, CLOCKS_NS_PER_MS);
	assert_true(worst_ns <= LATENESS_NS);
}

/* ---- the service manager */

static int listener = -1;
static char manager[] = "/tmp/ramplog-notify-XXXXXX";

static void listen_as(const char *name, const char *text)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	size_t length = strlen(name);

	memcpy(address.sun_path, name, length);
	if (name[0] == '@')
		address.sun_path[0] = '\0';
	listener = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
	assert_int_equal(bind(listener, (struct sockaddr *)&address,
				 (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length)),
		0);
	setenv("NOTIFY_SOCKET", text, 1);
}

static void hear(char heard[64])
{
	struct pollfd ready = {.fd = listener, .events = POLLIN};

	memset(heard, 0, 64);
	assert_int_equal(poll(&ready, 1, PATIENCE_MS), 1);
	assert_true(recv(listener, heard, 63, 0) > 0);
}

static void expect(const char *text)
{
	char heard[64];

	hear(heard);
	assert_string_equal(heard, text);
}

/* One turn of the loop answers the watchdog twice where the machine was late. */
static void expect_after_watchdogs(const char *text)
{
	char heard[64];

	do
		hear(heard);
	while (strcmp(heard, "WATCHDOG=1") == 0);
	assert_string_equal(heard, text);
}

static void expect_silence(void)
{
	char heard[64];

	assert_true(recv(listener, heard, sizeof heard, MSG_DONTWAIT) < 0);
}

static void serve_a_while(int turns, bool watched)
{
	struct notify notify;
	uv_loop_t loop;

	assert_int_equal(uv_loop_init(&loop), 0);
	notify_init(&notify, &loop);
	notify_ready(&notify);
	expect("READY=1");
	assert_int_equal(uv_loop_alive(&loop) != 0, watched);
	for (int i = 0; i < turns; i++) {
		uv_run(&loop, UV_RUN_ONCE);
		expect("WATCHDOG=1");
	}
	notify_stop(&notify);
	expect_after_watchdogs("STOPPING=1");
	uv_run(&loop, UV_RUN_DEFAULT);
	assert_int_equal(uv_loop_close(&loop), 0);
	expect_silence();
	close(listener);
}

static void test_ready_and_stopping(void **state)
{
	(void)state;
	unsetenv("WATCHDOG_USEC");
	listen_as(manager, manager);
	serve_a_while(0, false);
	unlink(manager);
}

static void test_watchdog_is_answered(void **state)
{
	(void)state;
	setenv("WATCHDOG_USEC", "20000", 1);
	unsetenv("WATCHDOG_PID");
	listen_as("@ramplog-test-notify", "@ramplog-test-notify");
	serve_a_while(3, true);
}

static void test_watchdog_of_another_process(void **state)
{
	(void)state;
	setenv("WATCHDOG_USEC", "20000", 1);
	setenv("WATCHDOG_PID", "1", 1);
	listen_as(manager, manager);
	serve_a_while(0, false);
	unlink(manager);
}

/* A path that names nothing, or is none, is no reason not to serve. */
static void test_no_manager(void **state)
{
	static const char *const names[] = {"", "x", "/nonexistent/socket", "relative/path"};
	struct notify notify;
	uv_loop_t loop;

	(void)state;
	unsetenv("WATCHDOG_USEC");
	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		setenv("NOTIFY_SOCKET", names[i], 1);
		assert_int_equal(uv_loop_init(&loop), 0);
		notify_init(&notify, &loop);
		notify_ready(&notify);
		notify_stop(&notify);
		uv_run(&loop, UV_RUN_DEFAULT);
		assert_int_equal(uv_loop_close(&loop), 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_a_callback_that_takes_long),
		cmocka_unit_test(test_a_callback_that_does_not),
		cmocka_unit_test(test_ready_and_stopping),
		cmocka_unit_test(test_watchdog_is_answered),
		cmocka_unit_test(test_watchdog_of_another_process),
		cmocka_unit_test(test_no_manager),
	};

	int made = mkstemp(manager);
	if (made < 0 || close(made) != 0 || unlink(manager) != 0)
		return 1;
	return cmocka_run_group_tests(tests, NULL, NULL);
}
