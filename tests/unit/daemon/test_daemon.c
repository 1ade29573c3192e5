/* SPDX-License-Identifier: MIT
 *
 * The whole daemon in a process of its own, between a pseudo terminal that this test writes to and
 * a control socket that it reads: runs are recorded, survive kills, unplugging and a full disk, and
 * what is stored gives the stored outcome again.
 */
#include "daemon.h"
#include "now.h"
#include "store/audit.h"
#include "unit/check.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

/* Everything here is over long before, or will never come. */
static const int64_t PATIENCE_NS = 20 * CLOCKS_NS_PER_S;
/* The press sends a reading this often. */
static const int64_t PERIOD_NS = 5 * CLOCKS_NS_PER_MS;

struct rig {
	char folder[64];
	char device[96];
	char database[96];
	char socket[96];
	char config[96];
	int master;
	int second; /* master of a second cell; -1: none */
	size_t spoken, lines;
	pid_t daemon;
	int client;
	size_t length;
	char heard[64 * 1024];
	int64_t next_ns;        /* when the press speaks next */
	const char *unit;       /* what it says that it sends */
	const char *other_unit; /* every second time; NULL: never */
	double load_kn;         /* what it says */
	double step_kn;         /* how much more with each reading */
	double stop_kn;         /* where it stops; at 0 or below with a negative step */
};

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

static void plug(struct rig *rig)
{
	char name[64];

	rig->master = open_terminal(name, sizeof name);
	unlink(rig->device);
	assert_int_equal(symlink(name, rig->device), 0);
}

static void unplug(struct rig *rig)
{
	unlink(rig->device);
	close(rig->master);
	rig->master = -1;
}

static void rig_init(struct rig *rig)
{
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
	plug(rig);
}

static void add_second_cell(struct rig *rig)
{
	char name[64];
	FILE *file = fopen(rig->config, "ae");

	rig->second = open_terminal(name, sizeof name);
	fprintf(file, "[cell other]\npress = north\ndevice = %s\nbaud = 9600\n", name);
	fclose(file);
}

static void rig_finish(struct rig *rig)
{
	char command[128];

	if (rig->master >= 0)
		close(rig->master);
	if (rig->second >= 0)
		close(rig->second);
	snprintf(command, sizeof command, "rm -r %s", rig->folder);
	assert_int_equal(system(command), 0);
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

static pid_t spawn(const struct rig *rig)
{
	pid_t pid = fork();

	assert_true(pid >= 0);
	if (pid == 0) {
		/* A test that failed leaves its daemon behind; it must not outlive the tests. */
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

static int end(pid_t pid, int number)
{
	int status = 0;

	kill(pid, number);
	int64_t begun_ns = now_mono().ns;
	while (waitpid(pid, &status, WNOHANG) == 0) {
		if (now_mono().ns - begun_ns > PATIENCE_NS)
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

/* Waits until something is to be heard or the press has spoken. */
static void pass_time(struct rig *rig)
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

static void forget_heard(struct rig *rig)
{
	rig->length = 0;
	rig->heard[0] = '\0';
}

/* Waits for a line that holds the text, forgets everything up to its end, and returns it. */
static const char *await(struct rig *rig, const char *text)
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
		if (now_mono().ns - begun_ns > PATIENCE_NS)
			fail_msg("never heard: %s", text);
		pass_time(rig);
	}
}

static void await_load(struct rig *rig)
{
	int64_t begun_ns = now_mono().ns;

	while (rig->step_kn != 0 && now_mono().ns - begun_ns < PATIENCE_NS)
		pass_time(rig);
}

static void ramp_to(struct rig *rig, double load_kn, double step_kn)
{
	rig->step_kn = step_kn;
	rig->stop_kn = load_kn;
}

static void ask(struct rig *rig, const char *line)
{
	assert_int_equal(write(rig->client, line, strlen(line)), (ssize_t)strlen(line));
	assert_non_null(strstr(await(rig, "\"ok\""), "\"ok\":true"));
}

/* Starts the daemon, connects and watches. */
static void start(struct rig *rig)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int64_t begun_ns = now_mono().ns;

	rig->daemon = spawn(rig);
	snprintf(address.sun_path, sizeof address.sun_path, "%s", rig->socket);
	forget_heard(rig);
	for (;;) {
		rig->client = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
		if (connect(rig->client, (struct sockaddr *)&address, sizeof address) == 0)
			break;
		close(rig->client);
		rig->client = -1;
		assert_true(now_mono().ns - begun_ns < PATIENCE_NS);
		pass_time(rig);
	}
	ask(rig, "{\"ask\":\"watch\",\"interval_ms\":20}\n");
}

static void stop(struct rig *rig, int number, int expected)
{
	assert_int_equal(end(rig->daemon, number), expected);
	close(rig->client);
	rig->client = -1;
}

static void seat(struct rig *rig, const char *id)
{
	char line[512];

	snprintf(line, sizeof line,
		"{\"ask\":\"register\",\"specimen\":{\"id\":\"%s\",\"shape\":\"cylinder\","
		"\"width_mm\":[100,100],\"length_mm\":200,\"method\":\"astm-c39\"}}\n",
		id);
	ask(rig, line);
	snprintf(line, sizeof line, "{\"ask\":\"seat\",\"press\":\"north\",\"specimen\":\"%s\"}\n",
		id);
	ask(rig, line);
}

/* ---- what is in the database */

static void report_finding(void *context, const struct audit_finding *finding)
{
	(void)context;
	fprintf(stderr, "run %lld: %s: stored %s, derived %s\n", (long long)finding->run,
		finding->field, finding->stored, finding->derived);
}

static struct run_record *load_run(const struct rig *rig, int64_t run)
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

static bool has_event(const struct run_record *record, enum event_kind kind)
{
	for (size_t i = 0; i < record->outcome.judgement.event_count; i++) {
		if (record->outcome.judgement.events[i].kind == kind)
			return true;
	}
	return false;
}

struct span {
	int64_t first_ns, last_ns;
};

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

static struct span span_of(const struct rig *rig, int64_t run)
{
	struct span span = {INT64_MAX, INT64_MIN};
	struct store *store = NULL;

	assert_int_equal(store_open(&store, rig->database, STORE_READ, NULL), STORE_OK);
	assert_int_equal(store_readings_each(store, run, take_time, &span), STORE_OK);
	store_close(store);
	return span;
}

/* ---- the tests */

static double time_of(const char *line)
{
	const char *at = strstr(line, "\"time_s\":");

	assert_non_null(at);
	return strtod(at + 9, NULL);
}

/* Once the load falls the maximum is on the disk, whatever of the batch's time is left. */
static void check_maximum_is_stored(struct rig *rig)
{
	double fell_s = time_of(await(rig, "\"phase\":\"declining\"")), stored_s = 0;

	while (stored_s < fell_s)
		stored_s = time_of(await(rig, "\"stored\""));
	print_message("falls at %.3f s, stored up to %.3f s\n", fell_s, stored_s);
	assert_true(stored_s < fell_s + 0.12);
}

static void test_a_run(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	seat(&rig, "S-1");
	await(&rig, "\"seated\":{\"id\":\"S-1\"");
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 40, 0.1);
	assert_non_null(strstr(await(&rig, "\"run_open\""), "\"run\":1"));
	await(&rig, "\"stress_pa\"");
	await_load(&rig);
	ramp_to(&rig, 0, -4);
	check_maximum_is_stored(&rig);
	const char *closed = await(&rig, "\"run_closed\"");
	assert_non_null(strstr(closed, "\"end\":\"broken\""));
	assert_non_null(strstr(closed, "\"specimen\":\"S-1\""));
	assert_non_null(strstr(closed, "\"run\":1"));
	ask(&rig, "{\"ask\":\"fracture\",\"run\":1,\"type\":2,\"note\":\"clean\"}\n");
	/* The specimen is used up, so the next run has none. */
	ramp_to(&rig, 20, 0.2);
	closed = await(&rig, "\"run_open\"");
	assert_null(strstr(closed, "S-1"));
	await_load(&rig);
	stop(&rig, SIGTERM, 0);
	struct run_record *record = load_run(&rig, 1);
	assert_int_equal(record->outcome.judgement.end, END_BROKEN);
	check_near((double)record->outcome.judgement.maximum_un, 40e9, 0.1e9);
	assert_int_equal(record->fracture.type, 2);
	assert_string_equal(record->start.specimen.id, "S-1");
	/* unloaded press before it */
	assert_true(record->outcome.judgement.maximum_at.ns - record->start.origin.ns >
		    CLOCKS_NS_PER_S);
	free(record);
	record = load_run(&rig, 2);
	assert_int_equal(record->outcome.judgement.end, END_INTERRUPTED);
	assert_false(record->start.has_specimen);
	free(record);
	/* No reading belongs to two runs, although the second came within the pre-roll's time. */
	assert_true(span_of(&rig, 2).first_ns > span_of(&rig, 1).last_ns);
	assert_int_not_equal(access(rig.socket, F_OK), 0);
	rig_finish(&rig);
}

static void idle_for(struct rig *rig, int lines)
{
	for (int i = 0; i < lines; i++) /* one every 20 ms */
		await(rig, "\"phase\":\"idle\"");
}

static void break_specimen(struct rig *rig, bool killed)
{
	ramp_to(rig, 20, 0.1);
	await(rig, "\"run_open\"");
	await_load(rig);
	if (killed) {
		stop(rig, SIGKILL, 128 + SIGKILL);
		start(rig);
	}
	ramp_to(rig, 40, 0.1);
	await_load(rig);
	/* The top lasts until the slower cell has seen it too. */
	for (int i = 0; i < 5; i++)
		await(rig, "\"load_n\":80000");
	ramp_to(rig, 0.3, -4);
	await(rig, "\"run_closed\"");
}

/* Two cells that carry the load together, one of them slower: what is judged is their sum, and it
 * comes out of the database as it went in, the unloaded press before it included. */
static void test_two_cells(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	add_second_cell(&rig);
	rig.load_kn = 0.3; /* the zero is off: only the readings before the contact tell */
	start(&rig);
	idle_for(&rig, 75);
	break_specimen(&rig, false);
	idle_for(&rig, 75);
	break_specimen(&rig, true);
	stop(&rig, SIGTERM, 0);
	for (int64_t run = 1; run <= 2; run++) {
		struct run_record *record = load_run(&rig, run);

		assert_int_equal(record->start.cell_count, 2);
		assert_int_equal(record->outcome.judgement.maximum_un, INT64_C(80000000000));
		assert_true(has_event(record, EVENT_ZERO_OFFSET));
		free(record);
	}
	rig_finish(&rig);
}

static void test_killed_in_a_run(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	seat(&rig, "S-1");
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 30, 0.1);
	await(&rig, "\"run_open\"");
	await_load(&rig);
	stop(&rig, SIGKILL, 128 + SIGKILL);
	ramp_to(&rig, 60, 0.1);
	start(&rig);
	assert_non_null(strstr(await(&rig, "\"live\""), "half"));
	await_load(&rig);
	ramp_to(&rig, 0, -4);
	const char *closed = await(&rig, "\"run_closed\"");
	assert_non_null(strstr(closed, "\"run\":1"));
	assert_non_null(strstr(closed, "\"end\":\"broken\""));
	stop(&rig, SIGTERM, 0);
	struct run_record *record = load_run(&rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 60e9, 0.1e9);
	assert_string_equal(record->start.specimen.id, "S-1");
	free(record);
	rig_finish(&rig);
}

/* With another press the readings would mean something else: the old run is closed as it stands. */
static void test_killed_and_changed(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 30, 0.1);
	await(&rig, "\"run_open\"");
	await_load(&rig);
	stop(&rig, SIGKILL, 128 + SIGKILL);
	FILE *file = fopen(rig.config, "ae");
	fputs("factor = 2\n", file);
	fclose(file);
	start(&rig);
	/* What is loaded now is a run of its own, at once. */
	assert_non_null(strstr(await(&rig, "\"run_open\""), "\"run\":2"));
	await_load(&rig);
	stop(&rig, SIGTERM, 0);
	struct run_record *record = load_run(&rig, 1);
	assert_int_equal(record->outcome.judgement.end, END_INTERRUPTED);
	free(record);
	record = load_run(&rig, 2);
	check_near((double)record->outcome.judgement.maximum_un, 60e9, 0.5e9);
	free(record);
	rig_finish(&rig);
}

static void test_unplugged_in_a_run(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 30, 0.1);
	await(&rig, "\"run_open\"");
	await_load(&rig);
	unplug(&rig);
	int64_t unplugged_ns = now_mono().ns;
	await(&rig, "\"state\":\"absent\"");
	assert_true(now_mono().ns - unplugged_ns < CLOCKS_NS_PER_S);
	plug(&rig);
	await(&rig, "\"state\":\"ready\"");
	ramp_to(&rig, 50, 0.1);
	await_load(&rig);
	ramp_to(&rig, 0, -4);
	assert_non_null(strstr(await(&rig, "\"run_closed\""), "\"run\":1"));
	stop(&rig, SIGTERM, 0);
	struct run_record *record = load_run(&rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 50e9, 0.1e9);
	assert_true(has_event(record, EVENT_GAP));
	free(record);
	rig_finish(&rig);
}

/* Away for too long: the run is over, and what is loaded when the cell is back is another one. */
static void test_away_too_long(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 30, 0.1);
	await(&rig, "\"run_open\"");
	await_load(&rig);
	unplug(&rig);
	int64_t unplugged_ns = now_mono().ns;
	assert_non_null(strstr(await(&rig, "\"run_closed\""), "\"end\":\"interrupted\""));
	assert_in_range(now_mono().ns - unplugged_ns, 10 * CLOCKS_NS_PER_S, PATIENCE_NS);
	plug(&rig);
	assert_non_null(strstr(await(&rig, "\"run_open\""), "\"run\":2"));
	stop(&rig, SIGTERM, 0);
	free(load_run(&rig, 1));
	free(load_run(&rig, 2));
	rig_finish(&rig);
}

static void test_silence(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	rig.next_ns = now_mono().ns + PATIENCE_NS; /* the indicator is switched off */
	assert_non_null(strstr(await(&rig, "\"state\":\"silent\""), "nothing comes"));
	rig.next_ns = 0;
	await(&rig, "\"state\":\"ready\"");
	stop(&rig, SIGINT, 0);
	rig_finish(&rig);
}

/* Lines come, but none that can be used: the same as silence. */
static void test_wrong_unit_and_garbage(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	rig.unit = "lbf";
	await(&rig, "\"cell\"");
	assert_non_null(strstr(await(&rig, "\"state\":\"silent\""),
		"the cell sends lbf and the config expects kN"));
	rig.unit = "kN";
	await(&rig, "\"state\":\"ready\"");
	rig.unit = "\xff\x80";
	assert_non_null(strstr(await(&rig, "\"state\":\"silent\""), "check baud"));
	rig.unit = "kN";
	await(&rig, "\"state\":\"ready\"");
	stop(&rig, SIGTERM, 0);
	rig_finish(&rig);
}

/* A cell whose every second reading is of no use says so once, and once that it is good again. */
static void test_unit_that_changes_with_each_line(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	await(&rig, "\"phase\":\"idle\"");
	rig.other_unit = "lbf";
	await(&rig, "sends lbf");
	forget_heard(&rig);
	for (size_t spoken = rig.lines; rig.lines < spoken + 200;) {
		pass_time(&rig);
		assert_null(strstr(rig.heard, "\"cell\""));
		if (strchr(rig.heard, '\n'))
			forget_heard(&rig);
	}
	rig.other_unit = NULL;
	assert_null(strstr(await(&rig, "\"cell\""), "sends lbf"));
	stop(&rig, SIGTERM, 0);
	rig_finish(&rig);
}

static void test_full_disk(void **state)
{
	struct rig rig;
	struct rlimit limit = {.rlim_max = RLIM_INFINITY};

	(void)state;
	rig_init(&rig);
	start(&rig);
	seat(&rig, "S-1");
	await(&rig, "\"phase\":\"idle\"");
	ramp_to(&rig, 30, 0.1);
	await(&rig, "\"run_open\"");
	limit.rlim_cur = 4096;
	assert_int_equal(prlimit(rig.daemon, RLIMIT_FSIZE, &limit, NULL), 0);
	await(&rig, "{\"durable\":false}");
	await_load(&rig);
	ramp_to(&rig, 0, -4);
	await(&rig, "\"phase\":\"declining\"");
	limit.rlim_cur = RLIM_INFINITY;
	assert_int_equal(prlimit(rig.daemon, RLIMIT_FSIZE, &limit, NULL), 0);
	const char *line = await(&rig, "run_closed");
	assert_non_null(strstr(line, "\"end\":\"broken\""));
	stop(&rig, SIGTERM, 0);
	struct run_record *record = load_run(&rig, 1);
	check_near((double)record->outcome.judgement.maximum_un, 30e9, 0.1e9);
	assert_false(has_event(record, EVENT_GAP));
	free(record);
	rig_finish(&rig);
}

static void test_second_daemon(void **state)
{
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	assert_int_equal(end(spawn(&rig), 0), 2);
	await(&rig, "\"phase\":\"idle\"");
	/* Another database and lock, but the same socket. */
	char database[96];
	memcpy(database, rig.database, sizeof database);
	FILE *file = fopen(rig.config, "we");
	fprintf(file,
		"[ramplogd]\ndatabase = %s2\nsocket = %s\n"
		"[press north]\ncapacity = 2000 kN\n"
		"[cell load]\npress = north\ndevice = %s\n",
		rig.database, rig.socket, rig.device);
	fclose(file);
	assert_int_equal(end(spawn(&rig), 0), 2);
	await(&rig, "\"phase\":\"idle\"");
	stop(&rig, SIGTERM, 0);
	rig_finish(&rig);
}

static void test_refused_requests(void **state)
{
	static const struct {
		const char *line, *why;
	} CASES[] = {
		{"{\"ask\":\"seat\",\"press\":\"south\",\"specimen\":\"S-1\"}\n", "no press south"},
		{"{\"ask\":\"seat\",\"press\":\"north\",\"specimen\":\"S-9\"}\n", "S-9"},
		{"{\"ask\":\"watch\",\"press\":\"south\"}\n", "no press south"},
		{"{\"ask\":\"fracture\",\"run\":3,\"type\":1}\n", "no run 3"},
		{"{\"ask\":\"confirm_method\",\"method\":\"astm-c39\",\"text\":\"x\","
		 "\"edition\":\"1\"}\n",
			"another text"},
		{"{\"ask\":\"report\",\"report\":{\"number\":9,\"set\":true,\"subject\":\"a\","
		 "\"at\":\"2026-03-01\",\"format\":\"pdf\",\"runs\":[1],\"hash\":"
		 "\"00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff\"}}\n",
			"not the next one, which is 1"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cylinder\","
		 "\"width_mm\":[0,0]}}\n",
			"\"error\""},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cylinder\","
		 "\"width_mm\":[100,100],\"method\":\"guess\"}}\n",
			"guess"},
		{"{\"ask\":\"register\",\"specimen\":{\"id\":\"S\",\"shape\":\"cube\","
		 "\"width_mm\":[100,100],\"length_mm\":100,\"method\":\"astm-c39\"}}\n",
			"written for cylinders"},
	};
	struct rig rig;

	(void)state;
	rig_init(&rig);
	start(&rig);
	for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
		assert_true(write(rig.client, CASES[i].line, strlen(CASES[i].line)) > 0);
		const char *answer = await(&rig, "\"ok\":false");
		if (!strstr(answer, CASES[i].why))
			fail_msg("%s", answer);
	}
	seat(&rig, "S-1");
	stop(&rig, SIGTERM, 0);
	/* The seat outlives the daemon. */
	start(&rig);
	assert_true(write(rig.client, "{\"ask\":\"status\"}\n", 17) == 17);
	const char *answer = await(&rig, "\"ok\":true");
	assert_non_null(strstr(answer, "\"seated\":{\"id\":\"S-1\""));
	assert_non_null(strstr(answer, "\"durable\":true"));
	stop(&rig, SIGTERM, 0);
	rig_finish(&rig);
}

/* With an argument: the slow ones. */
int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_a_run),
		cmocka_unit_test(test_two_cells),
		cmocka_unit_test(test_killed_in_a_run),
		cmocka_unit_test(test_killed_and_changed),
		cmocka_unit_test(test_unplugged_in_a_run),
		cmocka_unit_test(test_silence),
		cmocka_unit_test(test_wrong_unit_and_garbage),
		cmocka_unit_test(test_unit_that_changes_with_each_line),
		cmocka_unit_test(test_full_disk),
		cmocka_unit_test(test_second_daemon),
		cmocka_unit_test(test_refused_requests),
	};

	const struct CMUnitTest slow[] = {
		cmocka_unit_test(test_away_too_long),
	};

	(void)argv;
	return argc > 1 ? cmocka_run_group_tests(slow, NULL, NULL)
			: cmocka_run_group_tests(tests, NULL, NULL);
}
