/* SPDX-License-Identifier: MIT
 *
 * Coming up: lock, database, socket, presses, recovery, writer thread, ports. Going down: runs are
 * closed, the writer writes all and ends, then the clients hear the last of it and are let go.
 */
#include "daemon.h"

#include "asks.h"
#include "log.h"
#include "now.h"
#include "recover.h"
#include "wire/live.h"

#include "base/pages.h"

#include <assert.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

/* Which boot the monotonic clock belongs to; left empty where the kernel does not say. */
static void read_boot_id(char *text, size_t size)
{
	FILE *file = fopen("/proc/sys/kernel/random/boot_id", "re");

	text[0] = '\0';
	if (!file)
		return;
	if (fgets(text, (int)size, file))
		text[strcspn(text, "\n")] = '\0';
	fclose(file);
}

int daemon_find_press(const struct daemon *daemon, const char *name)
{
	for (size_t i = 0; i < daemon->press_count; i++) {
		if (strcmp(press_name(daemon->presses[i]), name) == 0)
			return (int)i;
	}
	return -1;
}

/* ---- hooks */

static void on_note_done(void *context, struct writer_note *note)
{
	struct daemon *daemon = context;

	if (note->kind == WRITER_RUN_OPEN || note->kind == WRITER_RUN_CLOSE)
		press_note_done(daemon->presses[note->press], note);
	else
		asks_note_done(daemon, note);
}

static void on_durable(void *context, bool durable, const char *why)
{
	struct daemon *daemon = context;

	(void)why;
	clients_send_json(daemon->clients, CLIENTS_ALL, live_json_durable(durable));
}

static void on_stored(void *context, size_t press, struct mono_time reading)
{
	struct daemon *daemon = context;

	press_tell_stored(daemon->presses[press], reading);
}

static void on_request(void *context, uint64_t client, uid_t uid, struct request *request)
{
	asks_take(context, client, uid, request);
}

static void stop(struct daemon *daemon)
{
	if (daemon->stopping)
		return;
	daemon->stopping = true;
	for (size_t i = 0; i < daemon->press_count; i++)
		press_stop(daemon->presses[i]);
	if (daemon->writer)
		writer_stop(daemon->writer);
	if (daemon->clients)
		clients_stop(daemon->clients);
	uv_close((uv_handle_t *)&daemon->signals, NULL);
	uv_close((uv_handle_t *)&daemon->hourly, NULL);
	notify_stop(&daemon->notify);
	lateness_stop(&daemon->lateness);
}

static void on_signal(uv_poll_t *handle, int status, int events)
{
	struct daemon *daemon = handle->data;
	struct signalfd_siginfo info;

	(void)status, (void)events;
	if (read(daemon->signal_fd, &info, sizeof info) != sizeof info)
		return;
	if (info.ssi_signo == SIGHUP) {
		log_line(LOG_WARNING,
			"SIGHUP is passed over: what the configuration says now takes "
			"effect at the next start");
		return;
	}
	log_line(LOG_INFO, "ending on signal %u", info.ssi_signo);
	stop(daemon);
}

/* ---- coming up */

static bool make_parts(struct daemon *daemon)
{
	struct writer_hooks writer_hooks = {daemon, on_note_done, on_durable, on_stored};
	struct clients_hooks clients_hooks = {daemon, on_request};

	daemon->writer = writer_create(
		&daemon->loop, daemon->config->database, WRITER_RING_SIZE, &writer_hooks);
	daemon->clients = clients_create(&daemon->loop, &clients_hooks);
	return daemon->writer && daemon->clients;
}

static void make_presses(struct daemon *daemon)
{
	struct press_world world = {
		.loop = &daemon->loop,
		.config = daemon->config,
		.lines = daemon->lines,
		.writer = daemon->writer,
		.clients = daemon->clients,
		.boot_id = daemon->boot_id,
	};

	for (size_t i = 0; i < daemon->config->line_count; i++) {
		daemon->lines[i] = line_create(&daemon->loop, daemon->config, i);
		assert(daemon->lines[i]);
		daemon->line_count++;
	}
	for (size_t i = 0; i < daemon->config->press_count; i++) {
		daemon->presses[i] = press_create(&world, i);
		assert(daemon->presses[i]);
		daemon->press_count++;
	}
}

/* A verification runs out while nobody loads anything and no cell need send. Asked again by the
 * wall clock, which may be set meanwhile, rather than once by a timer that knows nothing of it. */
static const uint64_t HOUR_MS = 3600 * 1000;

static void on_hour(uv_timer_t *timer)
{
	struct daemon *daemon = timer->data;

	for (size_t i = 0; i < daemon->press_count; i++)
		press_tell_notices(daemon->presses[i]);
}

/* What only coming up needed is given back when that is over: it takes some milliseconds, for which
 * nobody who waits for the first reading should wait. */
static const uint64_t SETTLED_MS = 1000;

static void on_settled(uv_timer_t *timer)
{
	pages_give_back_code();
	uv_timer_start(timer, on_hour, HOUR_MS, HOUR_MS);
}

static void start_hourly(struct daemon *daemon)
{
	uv_timer_init(&daemon->loop, &daemon->hourly);
	daemon->hourly.data = daemon;
	uv_timer_start(&daemon->hourly, on_settled, SETTLED_MS, 0);
}

/* A terminal that goes away sends SIGHUP: that must not end a run. SIGTERM and SIGINT are read like
 * any other input too. A handler could run in whatever thread and at
 * whatever point the signal finds, so they stay blocked: here, and in the threads made later. */
static void start_signals(struct daemon *daemon)
{
	sigset_t signals;

	sigemptyset(&signals);
	sigaddset(&signals, SIGTERM);
	sigaddset(&signals, SIGINT);
	sigaddset(&signals, SIGHUP);
	int failed = pthread_sigmask(SIG_BLOCK, &signals, NULL);
	daemon->signal_fd = signalfd(-1, &signals, SFD_NONBLOCK | SFD_CLOEXEC);
	assert(!failed && daemon->signal_fd >= 0);
	failed = uv_poll_init(&daemon->loop, &daemon->signals, daemon->signal_fd);
	assert(!failed);
	daemon->signals.data = daemon;
	uv_poll_start(&daemon->signals, UV_READABLE, on_signal);
}

static bool take_key(struct daemon *daemon, struct message *why)
{
	struct actor actor;
	bool changed = false;

	store_actor(getuid(), &actor);
	if (store_key_take(daemon->store, &actor, now_utc(), &changed) != STORE_OK)
		return message_set(why, "%s", store_error(daemon->store));
	if (changed)
		log_line(LOG_WARNING,
			"%s.key: another key than before signs from now on, which is on record: "
			"if nobody changed it, find out who did",
			daemon->config->database);
	return true;
}

bool daemon_init(struct daemon *daemon, const struct config *config, struct message *why)
{
	*daemon = (struct daemon){.config = config};
	int failed = uv_loop_init(&daemon->loop);
	assert(!failed);
	/* A client that leaves must not take the daemon with it. */
	signal(SIGPIPE, SIG_IGN);
	/* Nor may a file size limit: it is an error of the disk like any other. */
	signal(SIGXFSZ, SIG_IGN);
	read_boot_id(daemon->boot_id, sizeof daemon->boot_id);
	start_signals(daemon);
	start_hourly(daemon);
	notify_init(&daemon->notify, &daemon->loop);
	lateness_init(&daemon->lateness, &daemon->loop);
	bool made = make_parts(daemon);
	assert(made);
	/* The store's lock also keeps a second daemon from the socket. */
	if (store_open(&daemon->store, config->database, STORE_WRITE, why) != STORE_OK ||
		!take_key(daemon, why) || !clients_listen(daemon->clients, config->socket, why))
		return false;
	make_presses(daemon);
	if (!recover_all(daemon, why))
		return false;
	writer_start(daemon->writer, daemon->store);
	daemon->store = NULL;
	log_line(LOG_INFO, "ramplogd " RAMPLOG_VERSION " listens on %s, database %s",
		config->socket, config->database);
	for (size_t i = 0; i < daemon->press_count; i++)
		press_start(daemon->presses[i]);
	notify_ready(&daemon->notify);
	return true;
}

void daemon_run(struct daemon *daemon)
{
	uv_run(&daemon->loop, UV_RUN_DEFAULT);
}

void daemon_finish(struct daemon *daemon)
{
	stop(daemon);
	uv_run(&daemon->loop, UV_RUN_DEFAULT);
	for (size_t i = 0; i < daemon->press_count; i++)
		press_destroy(daemon->presses[i]);
	for (size_t i = 0; i < daemon->line_count; i++)
		line_destroy(daemon->lines[i]);
	writer_destroy(daemon->writer);
	clients_destroy(daemon->clients);
	store_close(daemon->store);
	int failed = uv_loop_close(&daemon->loop);
	assert(!failed);
	close(daemon->signal_fd);
}
