/* SPDX-License-Identifier: MIT
 *
 * The monitor's loop against a daemon that this test plays: it answers, hangs up in mid-run, stays
 * away, and comes back. The monitor runs as it is, in a process of its own, with a pipe for its
 * output; every step waits for the line that shows it, and for nothing else.
 */
#include "unit/check.h"

#include "commands.h"
#include "options.h"
#include "unit/tools/lines.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATIENCE_MS = 20000 }; /* a limit for a hanging test, not a time that is waited */

static char folder[] = "/tmp/ramplog-monitor-XXXXXX";
static char socket_path[100];
static int listener = -1;
static pid_t child;
static FILE *output;

static void open_listener(void)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	snprintf(address.sun_path, sizeof(address.sun_path), "%s", socket_path);
	unlink(socket_path);
	listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	assert_int_equal(bind(listener, (struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(listener, 4), 0);
}

static void wait_readable(int fd)
{
	struct pollfd poll_fd = {.fd = fd, .events = POLLIN};
	assert_int_equal(poll(&poll_fd, 1, PATIENCE_MS), 1);
}

/* Accepts the monitor and reads its two questions. */
static int accept_monitor(void)
{
	char questions[1000];
	size_t length = 0, lines = 0;
	wait_readable(listener);
	int fd = accept(listener, NULL, NULL);
	assert_true(fd >= 0);
	while (lines < 2) {
		wait_readable(fd);
		ssize_t got = read(fd, questions + length, sizeof(questions) - 1 - length);
		assert_true(got > 0);
		for (ssize_t i = 0; i < got; i++)
			lines += questions[length + (size_t)i] == '\n';
		length += (size_t)got;
	}
	questions[length] = '\0';
	/* To watch before the status is asked for loses no change in between. */
	assert_true(strstr(questions, "\"watch\"") < strstr(questions, "\"status\""));
	return fd;
}

static void say(int fd, const char *line)
{
	assert_int_equal(write(fd, line, strlen(line)), strlen(line));
	assert_int_equal(write(fd, "\n", 1), 1);
}

static void expect(const char *expected)
{
	char line[2000];
	wait_readable(fileno(output));
	assert_non_null(fgets(line, sizeof(line), output));
	line[strcspn(line, "\n")] = '\0';
	assert_string_equal(line, expected);
}

static void start_monitor(const char *press)
{
	int ends[2];
	assert_int_equal(pipe(ends), 0);
	fflush(NULL);
	child = fork();
	if (child == 0) {
		char *argv[] = {"ramplog monitor", "--plain", "--socket", socket_path,
			(char *)(uintptr_t)press, NULL};
		dup2(ends[1], STDOUT_FILENO);
		close(ends[0]);
		close(ends[1]);
		options_set_up();
		_exit(monitor_main(press ? 5 : 4, argv));
	}
	close(ends[1]);
	output = fdopen(ends[0], "r");
	/* A line is read when poll says so; stdio must not keep a second one back from poll. */
	setvbuf(output, NULL, _IONBF, 0);
}

static int end_monitor(void)
{
	int status;
	fclose(output);
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFEXITED(status));
	return WEXITSTATUS(status);
}

static int set_up(void **state)
{
	(void)state;
	open_listener();
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	close(listener);
	unlink(socket_path);
	return 0;
}

static void comes_back_by_itself(void **state)
{
	char away[300];
	(void)state;
	snprintf(away, sizeof(away),
		"WARNING: no live data: ramplogd on %s: it hung up; trying again", socket_path);
	start_monitor(NULL);
	int fd = accept_monitor();
	expect("connected to the daemon");
	say(fd, LINES_STATUS);
	expect("north: idle, quay-7-1 of set quay-7, cell c1 is ready");
	expect("south: idle, no specimen");
	say(fd, LINES_RUN_OPEN);
	expect("north: run 12 begins, quay-7-1 of set quay-7");
	/* It hangs up in the middle of a line; what came of it is worth nothing. */
	assert_int_equal(write(fd, LINES_TOO_FAST, 40), 40);
	close(fd);
	expect(away);
	fd = accept_monitor();
	expect("connected to the daemon");
	say(fd, LINES_STATUS);
	expect("north: idle, quay-7-1 of set quay-7, cell c1 is ready");
	expect("south: idle, no specimen");
	say(fd, LINES_TOO_FAST);
	expect("north: 62.2 s: latter half at 140.0 kN: WARNING: "
	       "rate 0.33 MPa/s, above 0.30: ease the valve");
	kill(child, SIGTERM);
	assert_int_equal(end_monitor(), EXIT_DONE);
	close(fd);
}

static void starts_before_the_daemon(void **state)
{
	char away[300];
	(void)state;
	snprintf(away, sizeof(away),
		"WARNING: no live data: ramplogd on %s: no such file or directory; trying again",
		socket_path);
	close(listener);
	unlink(socket_path);
	start_monitor(NULL);
	expect(away);
	open_listener();
	int fd = accept_monitor();
	expect("connected to the daemon");
	kill(child, SIGINT);
	assert_int_equal(end_monitor(), EXIT_DONE);
	close(fd);
}

static void a_press_that_is_not_there(void **state)
{
	(void)state;
	start_monitor("west");
	int fd = accept_monitor();
	expect("connected to the daemon");
	say(fd, LINES_STATUS);
	assert_int_equal(end_monitor(), EXIT_NO);
	close(fd);
}

static void a_line_without_end(void **state)
{
	static char junk[65536];
	char away[300];
	(void)state;
	snprintf(away, sizeof(away),
		"WARNING: no live data: ramplogd on %s: it sent a line that is too long; trying "
		"again",
		socket_path);
	memset(junk, 'x', sizeof(junk));
	start_monitor(NULL);
	int fd = accept_monitor();
	expect("connected to the daemon");
	assert_int_equal(send(fd, junk, sizeof(junk), MSG_NOSIGNAL), sizeof(junk));
	expect(away);
	kill(child, SIGTERM);
	assert_int_equal(end_monitor(), EXIT_DONE);
	close(fd);
}

/* `ramplog monitor --plain | head -1` */
static void ends_with_whoever_reads_it(void **state)
{
	(void)state;
	start_monitor(NULL);
	int fd = accept_monitor();
	expect("connected to the daemon");
	fclose(output);
	output = fopen("/dev/null", "re");
	say(fd, LINES_STATUS);
	assert_int_equal(end_monitor(), EXIT_DONE);
	close(fd);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(comes_back_by_itself, set_up, tear_down),
		cmocka_unit_test_setup_teardown(starts_before_the_daemon, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_press_that_is_not_there, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_line_without_end, set_up, tear_down),
		cmocka_unit_test_setup_teardown(ends_with_whoever_reads_it, set_up, tear_down),
	};
	if (!mkdtemp(folder))
		return 1;
	snprintf(socket_path, sizeof(socket_path), "%s/control.sock", folder);
	int failed = cmocka_run_group_tests(tests, NULL, NULL);
	rmdir(folder);
	return failed;
}
