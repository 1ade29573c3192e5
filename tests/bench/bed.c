/* SPDX-License-Identifier: MIT
 *
 * Feeder on the calling thread, the first client on a second one, the others on a third. A line is
 * `    N.NNN kN`, its load in newtons the line's number, which the program publishes again as
 * "load_n".
 */
#include "bed.h"

#include "store/store.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <pty.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { LINE_SIZE = 16, PATIENCE_S = 60, BLOCK_LINES = 200 };
/* Unloaded for so long a run is over, and the next may begin. */
static const double RELEASE_S = 1.5;

struct listener {
	int fd;
	size_t length;
	char bytes[64 * 1024];
	size_t count;
	float latency_us[BED_LINES_MAX];
};

static int64_t sent_ns[BED_LINES_MAX];
static struct listener listeners[BED_CLIENTS_MAX];
static _Atomic uint32_t newest; /* number that the first client has got */
static atomic_bool listening;
static int64_t feed_begun_ns, feed_ended_ns;

static int64_t now_ns(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec * INT64_C(1000000000) + now.tv_nsec;
}

static void must(bool done, const char *what)
{
	if (done)
		return;
	fprintf(stderr, "bed: %s: %s\n", what, strerror(errno));
	exit(1);
}

static void path_in(const struct bed *bed, const char *name, char *path, size_t size)
{
	snprintf(path, size, "%s/%s", bed->folder, name);
}

/* ---- setting up */

static void open_terminal(struct bed *bed, size_t i, char *slave)
{
	struct termios mode;
	int fd = -1;
	must(openpty(&bed->masters[i], &fd, slave, NULL, NULL) == 0, "a pseudo terminal");
	must(tcgetattr(fd, &mode) == 0, slave);
	cfmakeraw(&mode);
	must(tcsetattr(fd, TCSANOW, &mode) == 0, slave);
	close(fd);
	fcntl(bed->masters[i], F_SETFL, O_NONBLOCK);
	fcntl(bed->masters[i], F_SETFD, FD_CLOEXEC);
}

static void write_config(struct bed *bed, char (*slaves)[64])
{
	char path[96];
	path_in(bed, "config", path, sizeof path);
	FILE *file = fopen(path, "we");
	must(file != NULL, path);
	fprintf(file, "[ramplogd]\ndatabase = %s/db\nsocket = %s/socket\n", bed->folder,
		bed->folder);
	for (size_t i = 0; i < bed->channel_count; i++)
		fprintf(file,
			"[press p%zu]\ncapacity = 5000 kN\ncontact = %s\n"
			"[cell c%zu]\npress = p%zu\ndevice = %s\nbaud = 921600\n",
			i, bed->program == BED_UNSTORED ? "2000 kN" : "400 N", i, i, slaves[i]);
	must(fclose(file) == 0, path);
}

static pid_t spawn(const struct bed *bed, const char *const *wrapper, char (*slaves)[64])
{
	const char *argv[24] = {NULL};
	char config[96], socket[96], database[96], log[96];
	size_t n = 0;
	path_in(bed, "config", config, sizeof config);
	path_in(bed, "socket", socket, sizeof socket);
	path_in(bed, "db", database, sizeof database);
	path_in(bed, "log", log, sizeof log);
	for (; wrapper != NULL && wrapper[n] != NULL; n++)
		argv[n] = wrapper[n];
	argv[n++] = getenv(bed->program == BED_FLOOR ? "FLOOR" : "RAMPLOGD");
	if (argv[n - 1] == NULL) {
		fputs("bed: FLOOR or RAMPLOGD is not set: run this through meson\n", stderr);
		exit(1);
	}
	const char *const ours[] = {"--config", config}, *const least[] = {
								 slaves[0], socket, database};
	if (bed->program == BED_FLOOR)
		memcpy(argv + n, least, sizeof least);
	else
		memcpy(argv + n, ours, sizeof ours);
	pid_t pid = fork();
	must(pid >= 0, "fork");
	if (pid > 0)
		return pid;
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	/* The test runner has memory filled with rubbish, which touches all of it. */
	unsetenv("MALLOC_PERTURB_");
	dup2(open(log, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600), STDERR_FILENO);
	execvp(argv[0], (char *const *)argv);
	_exit(127);
}

static int try_connect(const struct bed *bed)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	path_in(bed, "socket", address.sun_path, sizeof address.sun_path);
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	if (connect(fd, (struct sockaddr *)&address, sizeof address) == 0)
		return fd;
	close(fd);
	return -1;
}

static void ask_to_watch(const struct bed *bed, int fd)
{
	static const char question[] = "{\"ask\":\"watch\",\"press\":\"p0\",\"interval_ms\":0}\n";
	if (bed->program != BED_FLOOR)
		must(write(fd, question, sizeof question - 1) > 0, "the question");
}

/* ---- the clients */

/* The number in a line, or 0. */
static uint32_t number_in(const char *line, size_t length)
{
	static const char key[] = "\"load_n\":";
	const char *found = memmem(line, length, key, sizeof key - 1);
	double load = found != NULL ? strtod(found + sizeof key - 1, NULL) : 0;
	return load > 0 && load < BED_LINES_MAX ? (uint32_t)(load + 0.5) : 0;
}

static void take_line(struct listener *listener, const char *line, size_t length, int64_t at_ns)
{
	uint32_t number = number_in(line, length);
	if (number == 0 || sent_ns[number] == 0)
		return;
	if (listener->count < BED_LINES_MAX)
		listener->latency_us[listener->count++] = (float)(at_ns - sent_ns[number]) * 1e-3f;
	if (listener == listeners)
		atomic_store(&newest, number);
}

static void take_bytes(struct listener *listener)
{
	ssize_t got = recv(listener->fd, listener->bytes + listener->length,
		sizeof listener->bytes - listener->length, MSG_DONTWAIT);
	int64_t at_ns = now_ns();
	char *start = listener->bytes, *end;
	if (got <= 0)
		return;
	listener->length += (size_t)got;
	size_t left = listener->length;
	while ((end = memchr(start, '\n', left)) != NULL) {
		take_line(listener, start, (size_t)(end - start), at_ns);
		left -= (size_t)(end + 1 - start);
		start = end + 1;
	}
	memmove(listener->bytes, start, left);
	listener->length = left;
}

/* The first client, which a program that serves the newest first serves last. */
static void *listen_to_first(void *nothing)
{
	(void)nothing;
	while (atomic_load(&listening)) {
		struct pollfd ready = {listeners[0].fd, POLLIN, 0};
		if (poll(&ready, 1, 20) > 0)
			take_bytes(&listeners[0]);
	}
	return NULL;
}

/* The others read as well, but do not take the first one's time. */
static void *listen_to_others(void *argument)
{
	const struct bed *bed = argument;
	while (atomic_load(&listening)) {
		poll(NULL, 0, 5);
		for (size_t i = 1; i < bed->client_count; i++)
			take_bytes(&listeners[i]);
	}
	return NULL;
}

/* ---- the feeder */

static void write_lines(struct bed *bed, size_t channel, const char *bytes, size_t length)
{
	while (length > 0) {
		struct pollfd room = {bed->masters[channel], POLLOUT, 0};
		ssize_t written = write(bed->masters[channel], bytes, length);
		if (written > 0) {
			bytes += written;
			length -= (size_t)written;
		} else {
			bed->full_count++;
			must(poll(&room, 1, PATIENCE_S * 1000) == 1, "a terminal that takes lines");
		}
	}
}

static size_t put_line(char *bytes, uint32_t number)
{
	return (size_t)snprintf(bytes, LINE_SIZE, "%9.3f kN\r\n", number * 0.001);
}

static void send_line(struct bed *bed)
{
	char line[LINE_SIZE];
	must(bed->number + 1 < BED_LINES_MAX, "fewer lines");
	size_t length = put_line(line, ++bed->number);
	sent_ns[bed->number] = now_ns();
	for (size_t i = 0; i < bed->channel_count; i++)
		write_lines(bed, i, line, length);
}

static void send_block(struct bed *bed, uint32_t count)
{
	char block[BLOCK_LINES * LINE_SIZE];
	size_t length = 0;
	for (uint32_t i = 0; i < count; i++) {
		length += put_line(block + length, ++bed->number);
		sent_ns[bed->number] = now_ns();
	}
	for (size_t i = 0; i < bed->channel_count; i++)
		write_lines(bed, i, block, length);
}

static void sleep_until(int64_t at_ns)
{
	struct timespec at = {at_ns / 1000000000, at_ns % 1000000000};
	while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &at, NULL) == EINTR)
		;
}

static void send_all(struct bed *bed, uint32_t count, double hz)
{
	int64_t begun_ns = now_ns();
	for (uint32_t i = 0; hz > 0 && i < count; i++) {
		sleep_until(begun_ns + (int64_t)(i * 1e9 / hz));
		send_line(bed);
	}
	for (uint32_t i = 0; hz <= 0 && i < count; i += BLOCK_LINES)
		send_block(bed, count - i < BLOCK_LINES ? count - i : BLOCK_LINES);
}

struct readers {
	pthread_t first, others;
};

static void start_readers(struct bed *bed, struct readers *readers)
{
	atomic_store(&listening, true);
	must(pthread_create(&readers->first, NULL, listen_to_first, NULL) == 0, "a thread");
	must(pthread_create(&readers->others, NULL, listen_to_others, bed) == 0, "a thread");
}

static void stop_readers(struct readers *readers)
{
	atomic_store(&listening, false);
	pthread_join(readers->first, NULL);
	pthread_join(readers->others, NULL);
}

bool bed_feed(struct bed *bed, uint32_t count, double hz)
{
	struct readers readers;
	for (size_t i = 0; i < bed->client_count; i++)
		listeners[i].count = 0;
	start_readers(bed, &readers);
	feed_begun_ns = now_ns();
	send_all(bed, count, hz);
	int64_t until_ns = now_ns() + PATIENCE_S * INT64_C(1000000000);
	uint32_t last = bed->number;
	/* A client that reads more slowly than a burst comes is spared some lines, perhaps the
	 * last: further ones follow. */
	while (atomic_load(&newest) < last && now_ns() < until_ns) {
		poll(NULL, 0, 1);
		if (hz <= 0)
			send_line(bed);
	}
	feed_ended_ns = now_ns();
	stop_readers(&readers);
	return atomic_load(&newest) >= last;
}

void bed_release(struct bed *bed, double hz)
{
	char line[LINE_SIZE];
	struct readers readers;
	uint32_t count = (uint32_t)(RELEASE_S * hz);
	size_t length = put_line(line, 0);
	int64_t begun_ns = now_ns();
	start_readers(bed, &readers);
	for (uint32_t i = 0; i < count; i++) {
		sleep_until(begun_ns + (int64_t)(i * 1e9 / hz));
		for (size_t k = 0; k < bed->channel_count; k++)
			write_lines(bed, k, line, length);
	}
	stop_readers(&readers);
	bed->number = 0;
	memset(sent_ns, 0, sizeof sent_ns);
	atomic_store(&newest, 0);
}

double bed_feed_s(void)
{
	return (double)(feed_ended_ns - feed_begun_ns) * 1e-9;
}

static int compare(const void *a, const void *b)
{
	float x = *(const float *)a, y = *(const float *)b;
	return (x > y) - (x < y);
}

double bed_latency_us(double q)
{
	struct listener *listener = &listeners[0];
	if (listener->count == 0)
		return 0;
	qsort(listener->latency_us, listener->count, sizeof(float), compare);
	return (double)listener->latency_us[(size_t)(q * (double)(listener->count - 1))];
}

/* ---- starting and stopping */

static pid_t peer_of(int fd)
{
	struct ucred peer = {0};
	socklen_t size = sizeof peer;
	must(getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &peer, &size) == 0, "the peer");
	return peer.pid;
}

static void add_client(struct bed *bed, int fd, bool stuck)
{
	must(bed->client_count < BED_CLIENTS_MAX, "fewer clients");
	ask_to_watch(bed, fd);
	bed->clients[bed->client_count] = fd;
	listeners[bed->client_count].fd = stuck ? -1 : fd;
	listeners[bed->client_count++].length = 0;
}

/* The first start of all makes the database and its key; what is measured is any other one. */
static void serve_once(const struct bed *bed, char (*slaves)[64])
{
	pid_t pid = spawn(bed, NULL, slaves);
	int fd = -1;
	for (int i = 0; fd < 0; i++) {
		must(i < PATIENCE_S * 1000, "the program serves for the first time; see its log");
		poll(NULL, 0, 1);
		fd = try_connect(bed);
	}
	close(fd);
	kill(pid, SIGTERM);
	must(waitpid(pid, NULL, 0) == pid, "the end of the first start");
}

/* A line each millisecond, until a client gets the first sample. */
static void await_first_sample(struct bed *bed)
{
	int64_t begun_ns = now_ns();
	atomic_store(&newest, 0);
	for (int i = 0; atomic_load(&newest) == 0; i++) {
		must(i < PATIENCE_S * 1000, "the program serves; see its log");
		sleep_until(begun_ns + i * INT64_C(1000000));
		char line[LINE_SIZE];
		size_t length = put_line(line, ++bed->number);
		sent_ns[bed->number] = now_ns();
		for (size_t k = 0; k < bed->channel_count; k++)
			if (write(bed->masters[k], line, length) < 0)
				bed->full_count++; /* nobody reads yet */
		int fd = bed->client_count == 0 ? try_connect(bed) : -1;
		if (fd >= 0) {
			bed->accept_ms = (double)(now_ns() - begun_ns) * 1e-6;
			add_client(bed, fd, false);
		}
		if (bed->client_count > 0)
			take_bytes(&listeners[0]);
	}
	bed->first_ms = (double)(now_ns() - begun_ns) * 1e-6;
	bed->awaited = bed->number;
}

void bed_start(
	struct bed *bed, enum bed_program program, size_t channel_count, const char *const *wrapper)
{
	char slaves[BED_CHANNELS_MAX][64];
	*bed = (struct bed){.program = program,
		.channel_count = channel_count,
		.folder = "/tmp/ramplog-bed-XXXXXX"};
	must(mkdtemp(bed->folder) != NULL, bed->folder);
	memset(sent_ns, 0, sizeof sent_ns);
	for (size_t i = 0; i < channel_count; i++)
		open_terminal(bed, i, slaves[i]);
	write_config(bed, slaves);
	if (program != BED_FLOOR)
		serve_once(bed, slaves);
	bed->child = spawn(bed, wrapper, slaves);
	await_first_sample(bed);
	bed->process = peer_of(bed->clients[0]);
}

void bed_connect(struct bed *bed, size_t count, bool stuck)
{
	for (size_t i = 0; i < count; i++) {
		int fd = try_connect(bed);
		must(fd >= 0, "another client");
		add_client(bed, fd, stuck);
	}
}

void bed_stop(struct bed *bed)
{
	int status = 0;
	kill(bed->process, SIGTERM);
	must(waitpid(bed->child, &status, 0) == bed->child, "the end of the program");
	if (status != 0)
		fprintf(stderr, "bed: the program ended with status %d; see %s/log\n", status,
			bed->folder);
	for (size_t i = 0; i < bed->client_count; i++)
		close(bed->clients[i]);
	for (size_t i = 0; i < bed->channel_count; i++)
		close(bed->masters[i]);
}

void bed_remove(struct bed *bed)
{
	char path[384];
	DIR *folder = opendir(bed->folder);
	for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
		path_in(bed, entry->d_name, path, sizeof path);
		if (entry->d_name[0] != '.')
			unlink(path);
	}
	closedir(folder);
	rmdir(bed->folder);
}

/* ---- what the program is like */

double bed_cpu_ns(const struct bed *bed)
{
	struct timespec used;
	clockid_t clock;
	must(clock_getcpuclockid(bed->process, &clock) == 0, "the program's clock");
	must(clock_gettime(clock, &used) == 0, "the program's clock");
	return (double)used.tv_sec * 1e9 + (double)used.tv_nsec;
}

/* The number behind "name:" in a file of /proc, 0 where there is none. */
static long number_of(const char *path, const char *name)
{
	char line[256];
	long number = 0;
	FILE *file = fopen(path, "re");
	size_t length = strlen(name);
	while (file != NULL && fgets(line, sizeof line, file) != NULL)
		if (strncmp(line, name, length) == 0 && line[length] == ':')
			number = strtol(line + length + 1, NULL, 10);
	if (file != NULL)
		fclose(file);
	return number;
}

long bed_memory_kib(const struct bed *bed, const char *name)
{
	char path[64];
	snprintf(path, sizeof path, "/proc/%d/smaps_rollup", bed->process);
	return number_of(path, name);
}

long bed_wakeups(const struct bed *bed)
{
	char path[384];
	long sum = 0;
	snprintf(path, sizeof path, "/proc/%d/task", bed->process);
	DIR *tasks = opendir(path);
	must(tasks != NULL, path);
	for (struct dirent *entry; (entry = readdir(tasks)) != NULL;) {
		snprintf(path, sizeof path, "/proc/%d/task/%s/status", bed->process, entry->d_name);
		sum += number_of(path, "voluntary_ctxt_switches");
	}
	closedir(tasks);
	return sum;
}

/* ---- what it has stored */

struct stored {
	size_t run_count;
	int64_t run, last, missing;
	int64_t awaited; /* until this line nobody read yet, and the terminal may have been full */
	char press[8];
};

static bool take_run(void *context, const struct run_row *row)
{
	struct stored *stored = context;
	if (strcmp(row->press, stored->press) == 0) {
		stored->run = row->run;
		stored->run_count++;
	}
	return true;
}

static bool take_reading(void *context, size_t cell, const struct reading *reading)
{
	struct stored *stored = context;
	(void)cell;
	if (stored->last >= stored->awaited && reading->value.mantissa != stored->last + 1)
		stored->missing += llabs(reading->value.mantissa - stored->last - 1);
	stored->last = reading->value.mantissa;
	return true;
}

long bed_lost(const struct bed *bed, size_t channel)
{
	struct stored stored = {.awaited = bed->awaited};
	struct run_filter all = {0};
	struct store *store = NULL;
	char path[96];
	path_in(bed, "db", path, sizeof path);
	snprintf(stored.press, sizeof stored.press, "p%zu", channel);
	must(store_open(&store, path, STORE_READ, NULL) == STORE_OK, path);
	store_runs_each(store, &all, take_run, &stored);
	if (stored.run_count == 1)
		store_readings_each(store, stored.run, take_reading, &stored);
	store_close(store);
	return stored.run_count == 1 ? stored.missing + (long)bed->number - stored.last : -1;
}
