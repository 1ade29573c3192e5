/* SPDX-License-Identifier: MIT
 *
 * What daemon.c does with lines and presses, without the rest; and the ports that they open.
 * daemon/port.c is as it is: it follows names, takes the lock and refuses. What it finds behind a
 * file is this back end, in the place of daemon/port_serial.c.
 */
#include "virtual.h"

#include "now.h"
#include "port_backend.h"
#include "press.h"
#include "store/audit.h"
#include "unit/check.h"
#include "virtual_writer.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

/* 2026-03-01, 12:00:00 UTC */
static const int64_t WALL_NS = INT64_C(1772366400) * CLOCKS_NS_PER_S;

static struct config *config;
static struct line *lines[CONFIG_CELLS_MAX];
static char ports_folder[64];
static size_t port_count;
static int ends[VIRTUAL_PORTS_MAX];  /* of the cells; -1: nobody has it open */
static int locks[VIRTUAL_PORTS_MAX]; /* of another program; -1: none */

/* ---- ports */

static const char *port_path(size_t port)
{
	static char path[VIRTUAL_PATH_SIZE];

	snprintf(path, sizeof path, "%.60s/port-%zu", ports_folder, port);
	return path;
}

static bool open_sockets(
	struct port *port, const struct port_settings *settings, struct message *why)
{
	int pair[2];
	size_t number = strtoul(strrchr(settings->device, '-') + 1, NULL, 10);

	(void)why;
	assert_true(number < port_count && ends[number] < 0);
	assert_int_equal(
		socketpair(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, pair), 0);
	port->descriptor = pair[0];
	port->handle = &ends[number];
	ends[number] = pair[1];
	return true;
}

static void close_sockets(struct port *port)
{
	int *end = port->handle;

	close(port->descriptor);
	if (*end >= 0)
		close(*end);
	*end = -1;
}

const struct port_backend port_serial = {"pair of sockets", open_sockets, close_sockets};

void virtual_send(size_t port, const char *bytes, size_t length)
{
	ssize_t sent = ends[port] >= 0 ? send(ends[port], bytes, length, MSG_NOSIGNAL) : -1;

	/* All of it, or the cable is out. */
	assert_true(sent == (ssize_t)length || sent < 0);
}

size_t virtual_asked(size_t port, unsigned char *bytes, size_t size)
{
	ssize_t length = ends[port] >= 0 ? read(ends[port], bytes, size) : 0;

	return length > 0 ? (size_t)length : 0;
}

bool virtual_is_open(size_t port)
{
	return ends[port] >= 0;
}

void virtual_plug(size_t port)
{
	int file = open(port_path(port), O_CREAT | O_EXCL | O_RDWR | O_CLOEXEC, 0600);

	assert_true(file >= 0);
	close(file);
}

void virtual_unplug(size_t port)
{
	assert_int_equal(unlink(port_path(port)), 0);
	if (ends[port] >= 0)
		shutdown(ends[port], SHUT_RDWR);
}

bool virtual_lock(size_t port)
{
	assert_true(locks[port] < 0);
	locks[port] = open(port_path(port), O_RDONLY | O_CLOEXEC);
	assert_true(locks[port] >= 0);
	if (flock(locks[port], LOCK_EX | LOCK_NB) == 0)
		return true;
	close(locks[port]);
	locks[port] = -1;
	return false;
}

void virtual_unlock(size_t port)
{
	close(locks[port]);
	locks[port] = -1;
}

/* ---- the presses */

static void on_note_done(void *context, struct writer_note *note)
{
	struct virtual *all = context;

	press_note_done(all->presses[note->press], note);
}

static void on_stored(void *context, size_t press, struct mono_time reading)
{
	struct virtual *all = context;

	press_tell_stored(all->presses[press], reading);
}

static void complain(void *context, const char *text)
{
	(void)context;
	fail_msg("%s", text);
}

static void load_config(const struct virtual *all, const char *text)
{
	char path[VIRTUAL_PATH_SIZE];

	snprintf(path, sizeof path, "%.60s/config", all->folder);
	FILE *file = fopen(path, "we");
	fprintf(file, "[ramplogd]\ndatabase = %s\nsocket = /nowhere\n", all->database);
	/* "port-" alone is no path of a device yet */
	for (const char *at = text; *at; at++) {
		if (strncmp(at, "port-", 5) == 0)
			fprintf(file, "%s/", all->folder);
		fputc(*at, file);
	}
	fclose(file);
	config = config_load(path, complain, NULL, NULL);
	assert_non_null(config);
}

static void make_presses(struct virtual *all)
{
	struct press_world world = {
		.config = config,
		.lines = lines,
		.writer = virtual_writer(),
		.clients = virtual_clients(),
		.boot_id = "virtual",
	};

	for (size_t i = 0; i < config->line_count; i++)
		lines[i] = line_create(NULL, config, i);
	for (size_t i = 0; i < config->press_count; i++)
		all->presses[all->press_count++] = press_create(&world, i);
	for (size_t i = 0; i < all->press_count; i++)
		press_start(all->presses[i]);
}

void virtual_start(struct virtual *all, const char *text, size_t ports)
{
	struct writer_hooks hooks = {.context = all, .done = on_note_done, .stored = on_stored};
	struct message why = {""};
	struct actor actor = {.name = "test"};
	bool changed = false;

	port_count = ports;
	for (size_t i = 0; i < ports; i++)
		virtual_plug(i);
	load_config(all, text);
	loop_begin(WALL_NS, virtual_writer_turn, NULL);
	if (store_open(&all->store, all->database, STORE_WRITE, &why) != STORE_OK)
		fail_msg("%s", why.text);
	assert_int_equal(store_key_take(all->store, &actor, now_utc(), &changed), STORE_OK);
	virtual_writer_begin(all->store, all->database, &hooks);
}

void virtual_open(struct virtual *all)
{
	make_presses(all);
}

void virtual_stop(struct virtual *all)
{
	for (size_t i = 0; i < all->press_count; i++)
		press_stop(all->presses[i]);
	for (size_t i = 0; i < config->line_count; i++)
		line_stop(lines[i]);
	loop_finish();
	virtual_writer_finish();
	for (size_t i = 0; i < all->press_count; i++)
		press_destroy(all->presses[i]);
	for (size_t i = 0; i < config->line_count; i++)
		line_destroy(lines[i]);
	all->press_count = 0;
	store_close(all->store);
	config_destroy(config);
}

struct utc_time virtual_now(void)
{
	return now_utc();
}

void virtual_cell(const struct virtual *all, size_t press, size_t cell, struct status_cell *status)
{
	static struct status_press found;

	press_status(all->presses[press], &found);
	*status = found.cells[cell];
}

/* ---- what is in the database */

static bool count_row(void *context, const struct run_row *row)
{
	(void)row;
	++*(size_t *)context;
	return true;
}

static void report_finding(void *context, const struct audit_finding *finding)
{
	(void)context;
	fprintf(stderr, "run %lld: %s: stored %s, derived %s\n", (long long)finding->run,
		finding->field, finding->stored, finding->derived);
}

void virtual_check_runs(const struct virtual *all, size_t expected)
{
	struct run_filter filter = {.limit = 0};
	struct audit_summary summary;
	size_t count = 0;
	int64_t runs[32];

	for (size_t i = 0; i < expected; i++)
		runs[i] = (int64_t)i + 1;
	assert_int_equal(store_runs_each(all->store, &filter, count_row, &count), STORE_OK);
	assert_int_equal(count, expected);
	assert_int_equal(
		audit_runs(all->store, runs, expected, report_finding, NULL, NULL, &summary),
		STORE_OK);
	assert_int_equal(summary.difference_count, 0);
	assert_int_equal(summary.unclosed_count, 0);
}

const struct run_record *virtual_run(const struct virtual *all, int64_t run)
{
	static struct run_record record;

	assert_int_equal(store_run_load(all->store, run, &record), STORE_OK);
	assert_true(record.row.closed);
	return &record;
}

bool virtual_has_event(const struct run_record *record, enum event_kind kind)
{
	for (size_t i = 0; i < record->outcome.judgement.event_count; i++) {
		if (record->outcome.judgement.events[i].kind == kind)
			return true;
	}
	return false;
}

int virtual_setup(void **state)
{
	static struct virtual all;

	all = (struct virtual){.press_count = 0};
	/* Named the same each time: it is among what watchers hear. */
	snprintf(all.folder, sizeof all.folder, "/tmp/ramplog-virtual-%d", (int)getpid());
	assert_int_equal(mkdir(all.folder, 0700), 0);
	snprintf(all.database, sizeof all.database, "%s/test.db", all.folder);
	snprintf(ports_folder, sizeof ports_folder, "%s", all.folder);
	for (size_t i = 0; i < VIRTUAL_PORTS_MAX; i++)
		ends[i] = locks[i] = -1;
	*state = &all;
	return 0;
}

int virtual_teardown(void **state)
{
	struct virtual *all = *state;
	char command[128];

	snprintf(command, sizeof command, "rm -r %s", all->folder);
	assert_int_equal(system(command), 0);
	return 0;
}
