/* SPDX-License-Identifier: MIT
 *
 * Spawning and waiting. Everything a program says is kept, so that a failure can show it; what has
 * been looked at is remembered by an offset.
 */
#include "harness.h"

#include "unit/check.h"

#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

struct said {
	int fd; /* -1: closed */
	char *text;
	size_t length, size;
};

struct harness_process {
	bool used;
	pid_t pid; /* 0: ended */
	int status;
	int input; /* -1: closed */
	struct said said;
	size_t seen; /* bytes of said that were looked at */
	char name[64];
	char line[HARNESS_LINE_MAX];
};

static struct harness_process processes[HARNESS_PROCESSES_MAX];

static long long now_ms(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec * 1000LL + now.tv_nsec / 1000000;
}

/* Reads what is there, at most until the deadline. False: nothing came in time, or the end. */
static bool said_more(struct said *said, long long deadline_ms)
{
	long long left_ms = deadline_ms - now_ms();
	struct pollfd ready = {.fd = said->fd, .events = POLLIN};
	if (said->fd < 0 || poll(&ready, 1, left_ms > 0 ? (int)left_ms : 0) <= 0)
		return false;
	if (said->size - said->length < 4096) {
		said->size = 2 * said->size + 8192;
		said->text = realloc(said->text, said->size);
		assert_non_null(said->text);
	}
	ssize_t length = read(said->fd, said->text + said->length, said->size - said->length - 1);
	if (length > 0)
		said->length += (size_t)length;
	said->text[said->length] = '\0';
	if (length > 0)
		return true;
	close(said->fd);
	said->fd = -1;
	return false;
}

static void said_finish(struct said *said)
{
	if (said->fd >= 0)
		close(said->fd);
	free(said->text);
	*said = (struct said){.fd = -1};
}

/* In the child: descriptors in place, then the program. */
static void become(const char *const *argv, int input, int output, int errors)
{
	sigset_t none;
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	if (dup2(input, 0) >= 0 && dup2(output, 1) >= 0 && dup2(errors, 2) >= 0)
		execv(argv[0], (char *const *)argv);
	dprintf(errors, "cannot start %s: %s\n", argv[0], strerror(errno));
	_exit(126);
}

static void make_pipe(int *ends)
{
	assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
}

static pid_t spawn(const char *const *argv, int input, int output, int errors)
{
	fflush(NULL);
	pid_t pid = fork();
	assert_true(pid >= 0);
	if (pid == 0)
		become(argv, input, output, errors);
	return pid;
}

struct harness_process *harness_start(const char *const *argv)
{
	struct harness_process *process = processes;
	while (process->used)
		assert_true(++process < processes + HARNESS_PROCESSES_MAX);

	int in[2], out[2];
	make_pipe(in);
	make_pipe(out);
	*process = (struct harness_process){.used = true, .input = in[1], .said = {.fd = out[0]}};
	const char *base = strrchr(argv[0], '/');
	snprintf(process->name, sizeof process->name, "%s", base != NULL ? base + 1 : argv[0]);
	process->pid = spawn(argv, in[0], out[1], out[1]);
	close(in[0]);
	close(out[1]);
	return process;
}

/* Takes the next whole line into process->line; false if there is none yet. */
static bool take_line(struct harness_process *process)
{
	if (process->said.text == NULL)
		return false;
	const char *start = process->said.text + process->seen;
	const char *end = strchr(start, '\n');
	if (end == NULL)
		return false;
	snprintf(process->line, sizeof process->line, "%.*s", (int)(end - start), start);
	process->seen += (size_t)(end - start) + 1;
	return true;
}

static bool contains_all(const char *line, const char *const *texts)
{
	for (; *texts != NULL; texts++)
		if (strstr(line, *texts) == NULL)
			return false;
	return true;
}

static bool await(struct harness_process *process, int seconds, const char *const *texts)
{
	long long deadline_ms = now_ms() + seconds * 1000LL;
	do {
		while (take_line(process))
			if (contains_all(process->line, texts))
				return true;
	} while (said_more(&process->said, deadline_ms));
	return false;
}

static void fail_awaiting(struct harness_process *process, const char *text)
{
	fail_msg("%s did not say '%s'%s; it said:\n%s", process->name, text,
		process->said.fd < 0 ? " before it ended" : " in time",
		process->said.text != NULL ? process->said.text : "");
}

const char *harness_expect(struct harness_process *process, const char *text, ...)
{
	const char *texts[8] = {text};
	va_list arguments;
	size_t count = 0;
	va_start(arguments, text);
	while (texts[count] != NULL) {
		assert(count + 1 < sizeof texts / sizeof *texts);
		texts[++count] = va_arg(arguments, const char *);
	}
	va_end(arguments);
	if (!await(process, HARNESS_PATIENCE_S, texts))
		fail_awaiting(process, text);
	return process->line;
}

bool harness_sees(struct harness_process *process, int seconds, const char *text)
{
	const char *const texts[] = {text, NULL};
	return await(process, seconds, texts);
}

const char *harness_expect_within(struct harness_process *process, int seconds, const char *text)
{
	if (!harness_sees(process, seconds, text))
		fail_awaiting(process, text);
	return process->line;
}

const char *harness_text(const struct harness_process *process)
{
	return process->said.text != NULL ? process->said.text : "";
}

void harness_tell(struct harness_process *process, const char *line)
{
	assert_true(process->input >= 0);
	assert_true(dprintf(process->input, "%s\n", line) > 0);
}

void harness_tell_end(struct harness_process *process)
{
	if (process->input >= 0)
		close(process->input);
	process->input = -1;
}

pid_t harness_pid(const struct harness_process *process)
{
	return process->pid;
}

static int await_end(pid_t pid)
{
	int status = 0;
	while (waitpid(pid, &status, 0) < 0)
		assert_int_equal(errno, EINTR);
	return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* Lets the program end within the harness's patience, else kills it and fails. */
static int finish(struct harness_process *process)
{
	long long deadline_ms = now_ms() + HARNESS_PATIENCE_S * 1000LL;
	while (process->said.fd >= 0 && now_ms() < deadline_ms)
		said_more(&process->said, deadline_ms);
	bool ended = process->said.fd < 0;
	if (!ended)
		kill(process->pid, SIGKILL);
	int status = await_end(process->pid);
	process->pid = 0;
	if (!ended)
		fail_msg("%s did not end; it said:\n%s", process->name, process->said.text);
	harness_tell_end(process);
	said_finish(&process->said);
	process->used = false;
	return status;
}

int harness_stop(struct harness_process *process, int signal)
{
	assert_true(process->pid > 0);
	kill(process->pid, signal);
	return finish(process);
}

int harness_wait(struct harness_process *process)
{
	return finish(process);
}

void harness_stop_all(void)
{
	for (size_t i = 0; i < HARNESS_PROCESSES_MAX; i++) {
		struct harness_process *process = &processes[i];
		if (!process->used)
			continue;
		if (process->pid > 0) {
			kill(process->pid, SIGKILL);
			await_end(process->pid);
		}
		harness_tell_end(process);
		said_finish(&process->said);
		process->used = false;
	}
}

struct harness_output harness_run(const char *const *argv)
{
	int out[2], err[2], nothing = open("/dev/null", O_RDONLY | O_CLOEXEC);
	make_pipe(out);
	make_pipe(err);
	pid_t pid = spawn(argv, nothing, out[1], err[1]);
	close(nothing);
	close(out[1]);
	close(err[1]);

	struct said said = {.fd = out[0]}, errors = {.fd = err[0]};
	long long deadline_ms = now_ms() + HARNESS_PATIENCE_S * 1000LL;
	while ((said.fd >= 0 || errors.fd >= 0) && now_ms() < deadline_ms) {
		struct pollfd ready[] = {
			{.fd = said.fd, .events = POLLIN}, {.fd = errors.fd, .events = POLLIN}};
		if (poll(ready, 2, 1000) <= 0)
			continue;
		if (ready[0].revents != 0)
			said_more(&said, 0);
		if (ready[1].revents != 0)
			said_more(&errors, 0);
	}
	if (said.fd >= 0 || errors.fd >= 0) {
		kill(pid, SIGKILL);
		await_end(pid);
		fail_msg("%s %s did not end", argv[0], argv[1] != NULL ? argv[1] : "");
	}
	return (struct harness_output){
		.status = await_end(pid), .text = said.text, .errors = errors.text};
}

void harness_output_finish(struct harness_output *output)
{
	free(output->text);
	free(output->errors);
	*output = (struct harness_output){0};
}
