/* SPDX-License-Identifier: MIT
 *
 * One question to a daemon that answers as told, or does not answer well.
 */
#include "../check.h"
#include "client.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[] = "/tmp/ramplog-client-XXXXXX";
static char socket_path[100];
static const struct request seat = {.ask = REQUEST_SEAT, .press = "north", .specimen_id = "A-1"};

/* Takes one question and gives the answer in pieces of so many bytes; true if it was the right one.
 */
static bool serve(int listener, const char *answer, size_t piece)
{
	char question[1000];
	size_t length = 0;
	int fd = accept(listener, NULL, NULL);
	while (length == 0 || question[length - 1] != '\n') {
		ssize_t got = read(fd, question + length, sizeof(question) - 1 - length);
		if (got <= 0)
			return false;
		length += (size_t)got;
	}
	question[length] = '\0';
	for (size_t rest = strlen(answer); rest > 0;) {
		ssize_t sent = send(fd, answer, piece < rest ? piece : rest, MSG_NOSIGNAL);
		if (sent <= 0)
			break;
		answer += sent;
		rest -= (size_t)sent;
	}
	close(fd);
	return strstr(question, "\"seat\"") && strstr(question, "\"north\"") &&
	       strstr(question, "\"A-1\"");
}

static void check_answer(
	const char *answer, size_t piece, enum client_status expected, const char *reason)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	struct message why = {.text = ""};
	int status;
	snprintf(address.sun_path, sizeof(address.sun_path), "%s", socket_path);
	int listener = socket(AF_UNIX, SOCK_STREAM, 0);
	assert_int_equal(bind(listener, (struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(listener, 1), 0);
	fflush(NULL);
	pid_t server = fork();
	if (server == 0)
		_exit(serve(listener, answer, piece) ? 0 : 1);
	close(listener);
	assert_int_equal(client_ask(socket_path, &seat, NULL, &why), expected);
	assert_string_equal(why.text, reason);
	assert_int_equal(waitpid(server, &status, 0), server);
	assert_int_equal(status, 0);
	unlink(socket_path);
}

static void answers(void **state)
{
	(void)state;
	check_answer("{\"ok\":true}\n", 100, CLIENT_DONE, "");
	check_answer("{\"ok\":true}\n", 1, CLIENT_DONE, "");
	check_answer("{\"ok\":false,\"error\":\"there is no specimen A-1\"}\n", 7, CLIENT_REFUSED,
		"there is no specimen A-1");
}

static void bad_answers(void **state)
{
	static char endless[REQUEST_LINE_MAX + 10];
	(void)state;
	check_answer("", 1, CLIENT_FAILED, "the daemon hung up without an answer");
	check_answer("{\"ok\":true}", 100, CLIENT_FAILED, "the daemon hung up without an answer");
	check_answer("nonsense\n", 100, CLIENT_FAILED, "the daemon's answer is no JSON");
	memset(endless, 'x', sizeof(endless) - 1);
	check_answer(endless, sizeof(endless), CLIENT_FAILED,
		"the daemon's answer is longer than a line may be");
}

static void nobody_there(void **state)
{
	struct message why;
	char long_path[300];
	(void)state;
	assert_int_equal(client_ask(socket_path, &seat, NULL, &why), CLIENT_AWAY);
	assert_non_null(strstr(why.text, socket_path));
	memset(long_path, 'p', sizeof(long_path) - 1);
	long_path[sizeof(long_path) - 1] = '\0';
	assert_int_equal(client_ask(long_path, &seat, NULL, &why), CLIENT_FAILED);
	assert_non_null(strstr(why.text, "is longer than"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(answers),
		cmocka_unit_test(bad_answers),
		cmocka_unit_test(nobody_there),
	};
	if (!mkdtemp(folder))
		return 1;
	snprintf(socket_path, sizeof(socket_path), "%s/control.sock", folder);
	int failed = cmocka_run_group_tests(tests, NULL, NULL);
	rmdir(folder);
	return failed;
}
