/* SPDX-License-Identifier: MIT
 *
 * The floor: the least that does a daemon's job on this machine, to measure ramplogd beside it.
 * One libuv loop reads one terminal, splits lines, strtod, a slope in O(1); every sample goes to
 * SQLite (WAL, FULL) with a commit each 250 ms on a second thread, and as one JSON line to whoever
 * is connected to a Unix socket. No configuration, no judging, no evidence, no errors handled.
 *
 *	floor TERMINAL SOCKET DATABASE
 */
#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>
#include <uv.h>

enum { WINDOW = 2048, QUEUE = 1 << 16, CLIENTS_MAX = 64, COMMIT_MS = 250 };

struct row {
	int64_t time_ns;
	double load;
};

static uv_loop_t *loop;
static uv_poll_t poll_handle;
static uv_pipe_t listener, clients[CLIENTS_MAX];
static size_t client_count;
static uv_signal_t term;
static char line[4096];
static size_t length;

/* ---- the slope of the last two seconds */

static struct row window[WINDOW];
static size_t first, count;
static double sum_t, sum_y, sum_tt, sum_ty;
static int64_t origin_ns;

static void add(struct row row, double sign)
{
	double t = (double)(row.time_ns - origin_ns) * 1e-9;
	sum_t += sign * t;
	sum_y += sign * row.load;
	sum_tt += sign * t * t;
	sum_ty += sign * t * row.load;
}

static double slope(struct row row)
{
	if (origin_ns == 0)
		origin_ns = row.time_ns;
	while (count > 0 &&
		(count == WINDOW || row.time_ns - window[first].time_ns > INT64_C(2000000000))) {
		add(window[first], -1);
		first = (first + 1) % WINDOW;
		count--;
	}
	window[(first + count++) % WINDOW] = row;
	add(row, 1);
	double n = (double)count, det = n * sum_tt - sum_t * sum_t;
	return det > 0 ? (n * sum_ty - sum_t * sum_y) / det : 0;
}

/* ---- the database, on its own thread */

static struct row queue[QUEUE];
static size_t queued;
static int ending;
static uv_mutex_t mutex;
static uv_cond_t condition;

static void store(void *path)
{
	static struct row taken[QUEUE];
	sqlite3 *database;
	sqlite3_stmt *insert;
	sqlite3_open(path, &database);
	sqlite3_exec(database,
		"PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
		"CREATE TABLE sample (time_ns INTEGER, load REAL)",
		NULL, NULL, NULL);
	sqlite3_prepare_v2(database, "INSERT INTO sample VALUES (?, ?)", -1, &insert, NULL);
	uv_mutex_lock(&mutex);
	while (!ending || queued > 0) {
		while (queued == 0 && !ending)
			uv_cond_wait(&condition, &mutex);
		if (!ending)
			uv_cond_timedwait(&condition, &mutex, COMMIT_MS * UINT64_C(1000000));
		size_t n = queued;
		memcpy(taken, queue, n * sizeof *taken);
		queued = 0;
		uv_mutex_unlock(&mutex);
		sqlite3_exec(database, "BEGIN", NULL, NULL, NULL);
		for (size_t i = 0; i < n; i++) {
			sqlite3_bind_int64(insert, 1, taken[i].time_ns);
			sqlite3_bind_double(insert, 2, taken[i].load);
			sqlite3_step(insert);
			sqlite3_reset(insert);
		}
		sqlite3_exec(database, "COMMIT", NULL, NULL, NULL);
		uv_mutex_lock(&mutex);
	}
	uv_mutex_unlock(&mutex);
	sqlite3_finalize(insert);
	sqlite3_close(database);
}

static void put(struct row row)
{
	uv_mutex_lock(&mutex);
	if (queued < QUEUE)
		queue[queued++] = row;
	if (queued == 1)
		uv_cond_signal(&condition);
	uv_mutex_unlock(&mutex);
}

/* ---- the loop */

static void take_sample(double load, int64_t time_ns)
{
	char json[160];
	struct row row = {time_ns, load};
	double rate = slope(row);
	put(row);
	int size = snprintf(json, sizeof json,
		"{\"live\":{\"time_s\":%.6f,\"load_n\":%.3f,\"rate_n_s\":%.1f}}\n",
		(double)(time_ns - origin_ns) * 1e-9, load * 1000, rate * 1000);
	uv_buf_t buffer = uv_buf_init(json, (unsigned)size);
	for (size_t i = 0; i < client_count; i++)
		uv_try_write((uv_stream_t *)&clients[i], &buffer, 1);
}

static void on_readable(uv_poll_t *handle, int status, int events)
{
	(void)handle;
	(void)events;
	if (status < 0)
		return;
	ssize_t got = read(poll_handle.io_watcher.fd, line + length, sizeof line - length);
	int64_t now_ns = (int64_t)uv_hrtime();
	if (got <= 0)
		return;
	length += (size_t)got;
	char *start = line, *end;
	while ((end = memchr(start, '\n', length - (size_t)(start - line))) != NULL) {
		take_sample(strtod(start, NULL), now_ns);
		start = end + 1;
	}
	length -= (size_t)(start - line);
	memmove(line, start, length);
}

static void give_buffer(uv_handle_t *handle, size_t suggested, uv_buf_t *buffer)
{
	static char ignored[4096];
	(void)handle;
	(void)suggested;
	*buffer = uv_buf_init(ignored, sizeof ignored);
}

static void ignore(uv_stream_t *stream, ssize_t got, const uv_buf_t *buffer)
{
	(void)buffer;
	if (got < 0)
		uv_read_stop(stream);
}

static void on_connection(uv_stream_t *stream, int status)
{
	if (status < 0 || client_count == CLIENTS_MAX)
		return;
	uv_pipe_init(loop, &clients[client_count], 0);
	uv_accept(stream, (uv_stream_t *)&clients[client_count]);
	uv_read_start((uv_stream_t *)&clients[client_count++], give_buffer, ignore);
}

static void on_term(uv_signal_t *handle, int number)
{
	(void)handle;
	(void)number;
	uv_stop(loop);
}

static int open_terminal(const char *path)
{
	struct termios mode;
	int fd = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK);
	if (fd < 0 || tcgetattr(fd, &mode) != 0)
		exit(1);
	cfmakeraw(&mode);
	tcsetattr(fd, TCSANOW, &mode);
	return fd;
}

int main(int argc, char **argv)
{
	uv_thread_t thread;
	if (argc != 4)
		return 2;
	signal(SIGPIPE, SIG_IGN);
	loop = uv_default_loop();
	uv_mutex_init(&mutex);
	uv_cond_init(&condition);
	uv_thread_create(&thread, store, argv[3]);
	uv_pipe_init(loop, &listener, 0);
	if (uv_pipe_bind(&listener, argv[2]) != 0 ||
		uv_listen((uv_stream_t *)&listener, CLIENTS_MAX, on_connection) != 0)
		return 1;
	uv_poll_init(loop, &poll_handle, open_terminal(argv[1]));
	uv_poll_start(&poll_handle, UV_READABLE, on_readable);
	uv_signal_init(loop, &term);
	uv_signal_start(&term, on_term, SIGTERM);
	uv_run(loop, UV_RUN_DEFAULT);
	uv_mutex_lock(&mutex);
	ending = 1;
	uv_cond_signal(&condition);
	uv_mutex_unlock(&mutex);
	uv_thread_join(&thread);
	return 0;
}
