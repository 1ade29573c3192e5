/* SPDX-License-Identifier: MIT
 *
 * The daemon is a process of its own; its press goes on speaking while anything is waited for.
 */
#include "rig.h"

#include "daemon.h"
#include "now.h"
#include "store/audit.h"
#include "unit/check.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

/* The press sends a reading this often. */
static const int64_t PERIOD_NS = 5 * CLOCKS_NS_PER_MS;

/* The end that the cell has; the other one is found by its name. */
static int open_terminal(char *name, size_t size)
{
	int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);

	assert_true(master >= 0);
	assert_int_equal(grantpt(master), 0);
	assert_int_equal(unlockpt(master), 0);
	assert_int_equal(ptsname_r(master, name, size), 0);
	return master;
}

void rig_plug(struct rig *rig)
{
	char name[64];

	rig->master = open_terminal(name, sizeof name);
	unlink(rig->device);
	assert_int_equal(symlink(name, rig->device), 0);
}

void rig_unplug(struct rig *rig)
{
	unlink(rig->device);
	close(rig->master);
	rig->master = -1;
}

int rig_setup(void **state)
{
	struct rig *rig = malloc(sizeof *rig);

	assert_non_null(rig);
	*state = rig;
	*rig = (struct rig){.folder = "/tmp/ramplog-daemon-XXXXXX",
		.master = -1,
		.second = -1,
		.client = -1,
		.unit = "kN"};
	assert_non_null(mkdtemp(rig->folder));
	snprintf(rig->device, sizeof rig->device, "%s/tty", rig->folder);
	snprintf(rig->database, sizeof rig->database, "%s/test.db", rig->folder);
	snprintf(rig->socket, sizeof rig->socket, "%s/socket", rig->folder);
	snprintf(rig->config, sizeof rig->config, "%s/config", rig->folder);
	FILE *file = fopen(rig->config, "we");
	fprintf(file,
		"[ramplogd]\ndatabase = %s\nsocket = %s\nlog_level = debug\n"
		"[press north]\ncapacity = 2000 kN\n"
		"[cell load]\npress = north\ndevice = %s\nbaud = 115200\n",
		rig->database, rig->socket, rig->device);
	fclose(file);
	rig_plug(rig);
	return 0;
}

int rig_teardown(void **state)
{
	struct rig *rig = *state;
	char command[128];

	/* A test that failed leaves its daemon behind. */
	if (rig->daemon > 0)
		rig_end(rig->daemon, SIGKILL);
	if (rig->client >= 0)
		close(rig->client);
	if (rig->master >= 0)
		close(rig->master);
	if (rig->second >= 0)
		close(rig->second);
	snprintf(command, sizeof command, "rm -r %s", rig->folder);
	assert_int_equal(system(command), 0);
	free(rig);
	return 0;
}

void rig_add_second_cell(struct rig *rig)
{
	char name[64];
	FILE *file = fopen(rig->config, "ae");

	rig->second = open_terminal(name, sizeof name);
	fprintf(file, "[cell other]\npress = north\ndevice = %s\nbaud = 9600\n", name);
	fclose(file);
}

static void complain(void *context, const char *text)
{
	(void)context;
	fprintf(stderr, "%s\n", text);
}

/* What main() does, without its exit. */
static int serve(const char *path)
{
	static struct daemon daemon;
	struct message why = {""};
	struct config *config = config_load(path, complain, NULL, NULL);

	if (!config)
		return 2;
	bool ok = daemon_init(&daemon, config, &why);
	if (ok)
		daemon_run(&daemon);
	else
		fprintf(stderr, "%s\n", why.text);
	daemon_finish(&daemon);
	config_destroy(config);
	return ok ? 0 : 2;
}

pid_t rig_spawn(const struct rig *rig)
{
	pid_t pid = fork();

	assert_true(pid >= 0);
	if (pid == 0) {
		/* It must not outlive the tests, however they end. */
		prctl(PR_SET_PDEATHSIG, SIGKILL);
		/* What this side holds must end with this side. */
		if (rig->master >= 0)
			close(rig->master);
		if (rig->second >= 0)
			close(rig->second);
		if (rig->client >= 0)
			close(rig->client);
		_exit(serve(rig->config));
	}
	return pid;
}

int rig_end(pid_t pid, int number)
{
	int status = 0;

	kill(pid, number);
	int64_t begun_ns = now_mono().ns;
	while (waitpid(pid, &status, WNOHANG) == 0) {
		if (now_mono().ns - begun_ns > RIG_PATIENCE_NS)
			fail_msg("the daemon does not end on signal %d", number);
		poll(NULL, 0, 1);
	}
	return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* ---- the press, which goes on while anything is waited for */

static void press_speaks(struct rig *rig)
{
	char line[32];

	const char *unit = rig->unit;
	if (rig->other_unit && rig->lines++ % 2)
		unit = rig->other_unit;
	int length = snprintf(line, sizeof line, "%.3f %s\r\n", rig->load_kn, unit);
	/* A line that nobody reads is lost, as with a real indicator. */
	ssize_t written = rig->master >= 0 ? write(rig->master, line, (size_t)length) : 0;
	/* The second cell carries the same and is slower. */
	if (rig->second >= 0 && rig->spoken++ % 3 == 0)
		written += write(rig->second, line, (size_t)length);
	(void)written;
	rig->load_kn += rig->step_kn;
	if ((rig->step_kn > 0 && rig->load_kn >= rig->stop_kn) ||
		(rig->step_kn < 0 && rig->load_kn <= rig->stop_kn)) {
		rig->load_kn = rig->stop_kn;
		rig->step_kn = 0;
	}
}

void rig_pass_time(struct rig *rig)
{
	struct pollfd ready = {.fd = rig->client, .events = POLLIN};
	int64_t wait_ns = rig->next_ns - now_mono().ns;

	if (poll(&ready, 1, wait_ns > 0 ? (int)(wait_ns / CLOCKS_NS_PER_MS) + 1 : 0) > 0) {
		ssize_t length = recv(rig->client, rig->heard + rig->length,
			sizeof rig->heard - rig->length - 1, MSG_DONTWAIT);

		assert_true(length > 0);
		rig->length += (size_t)length;
		rig->heard[rig->length] = '\0';
	}
	if (now_mono().ns >= rig->next_ns) {
		press_speaks(rig);
		rig->next_ns = now_mono().ns + PERIOD_NS;
	}
}

void rig_forget(struct rig *rig)
{
	rig->length = 0;
	rig->heard[0] = '\0';
}

const char *rig_await(struct rig *rig, const char *text)
{
	static char line[16 * 1024];
	int64_t begun_ns = now_mono().ns;

	for (;;) {
		char *newline = NULL;

		while ((newline = memchr(rig->heard, '\n', rig->length))) {
			size_t length = (size_t)(newline - rig->heard) + 1;

			assert_true(length < sizeof line);
			memcpy(line, rig->heard, length);
			line[length] = '\0';
			rig->length -= length;
			memmove(rig->heard, newline + 1, rig->length + 1);
			if (strstr(line, text))
				return line;
		}
		if (now_mono().ns - begun_ns > RIG_PATIENCE_NS)
			fail_msg("never heard: %s", text);
		rig_pass_time(rig);
	}
}

void rig_await_load(struct rig *rig)
{
	int64_t begun_ns = now_mono().ns;

	while (rig->step_kn != 0 && now_mono().ns - begun_ns < RIG_PATIENCE_NS)
		rig_pass_time(rig);
}

void rig_ramp(struct rig *rig, double load_kn, double step_kn)
{
	rig->step_kn = step_kn;
	rig->stop_kn = load_kn;
}

void rig_load_to(struct rig *rig, double load_kn, double step_kn)
{
	rig_ramp(rig, load_kn, step_kn);
	rig_await_load(rig);
}

const char *rig_hear(struct rig *rig, const char *text, const char *wanted)
{
	const char *line = rig_await(rig, text);

	if (!strstr(line, wanted))
		fail_msg("'%s' is not in: %s", wanted, line);
	return line;
}

void rig_begin_run(struct rig *rig, double load_kn, double step_kn)
{
	rig_ramp(rig, load_kn, step_kn);
	rig_await(rig, "\"run_open\"");
	rig_await_load(rig);
}

void rig_ask(struct rig *rig, const char *line)
{
	assert_int_equal(write(rig->client, line, strlen(line)), (ssize_t)strlen(line));
	rig_hear(rig, "\"ok\"", "\"ok\":true");
}

void rig_start(struct rig *rig)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int64_t begun_ns = now_mono().ns;

	rig->daemon = rig_spawn(rig);
	snprintf(address.sun_path, sizeof address.sun_path, "%s", rig->socket);
	rig_forget(rig);
	for (;;) {
		rig->client = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
		if (connect(rig->client, (struct sockaddr *)&address, sizeof address) == 0)
			break;
		close(rig->client);
		rig->client = -1;
		assert_true(now_mono().ns - begun_ns < RIG_PATIENCE_NS);
		rig_pass_time(rig);
	}
	rig_ask(rig, "{\"ask\":\"watch\",\"interval_ms\":20}\n");
}

void rig_start_idle(struct rig *rig)
{
	rig_start(rig);
	rig_await(rig, "\"phase\":\"idle\"");
}

void rig_stop(struct rig *rig, int number, int expected)
{
	assert_int_equal(rig_end(rig->daemon, number), expected);
	rig->daemon = 0;
	close(rig->client);
	rig->client = -1;
}

void rig_seat(struct rig *rig, const char *id)
{
	char line[512];

	snprintf(line, sizeof line,
		"{\"ask\":\"register\",\"specimen\":{\"id\":\"%s\",\"shape\":\"cylinder\","
		"\"width_mm\":[100,100],\"length_mm\":200,\"method\":\"astm-c39\"}}\n",
		id);
	rig_ask(rig, line);
	snprintf(line, sizeof line, "{\"ask\":\"seat\",\"press\":\"north\",\"specimen\":\"%s\"}\n",
		id);
	rig_ask(rig, line);
}

/* ---- what is in the database */

static void report_finding(void *context, const struct audit_finding *finding)
{
	(void)context;
	fprintf(stderr, "run %lld: %s: stored %s, derived %s\n", (long long)finding->run,
		finding->field, finding->stored, finding->derived);
}

struct run_record *rig_load_run(const struct rig *rig, int64_t run)
{
	struct run_record *record = malloc(sizeof *record);
	struct audit_summary summary;
	struct store *store = NULL;

	assert_int_equal(store_open(&store, rig->database, STORE_READ, NULL), STORE_OK);
	assert_int_equal(store_run_load(store, run, record), STORE_OK);
	assert_int_equal(
		audit_runs(store, &run, 1, report_finding, NULL, NULL, &summary), STORE_OK);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.unclosed_count, 0);
	store_close(store);
	assert_true(record->row.closed);
	return record;
}

bool rig_has_event(const struct run_record *record, enum event_kind kind)
{
	for (size_t i = 0; i < record->outcome.judgement.event_count; i++) {
		if (record->outcome.judgement.events[i].kind == kind)
			return true;
	}
	return false;
}

static bool take_time(void *context, size_t cell, const struct reading *reading)
{
	struct span *span = context;

	(void)cell;
	if (reading->time.ns < span->first_ns)
		span->first_ns = reading->time.ns;
	if (reading->time.ns > span->last_ns)
		span->last_ns = reading->time.ns;
	return true;
}

struct span rig_span(const struct rig *rig, int64_t run)
{
	struct span span = {INT64_MAX, INT64_MIN};
	struct store *store = NULL;

	assert_int_equal(store_open(&store, rig->database, STORE_READ, NULL), STORE_OK);
	assert_int_equal(store_readings_each(store, run, take_time, &span), STORE_OK);
	store_close(store);
	return span;
}
