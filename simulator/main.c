/* SPDX-License-Identifier: MIT
 *
 * rampsim: a press whose load cells speak through pseudo terminals. One thread, one loop: wait
 * until the next line is due or a command comes, write the line to every cell, let faults happen.
 *
 * Lines are paced by an absolute clock. A simulator that was held up sends what is due at once, as
 * a kernel buffer would deliver it.
 */
#include "control.h"
#include "options.h"
#include "pty.h"
#include "wire.h"

#include "base/decimal.h"

#include <ctype.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* How often the links are looked at while nobody has opened them yet: the kernel tells of a reader
 * that goes, but not of one that comes. */
enum { READER_POLL_MS = 5 };

/* Bytes that come one at a time are no further apart than this, and take half of a line's time. */
static const int64_t TRICKLE_NS = 1000000;

struct cell {
	struct pty pty;
	struct wire wire;
	const char *link;
	bool standing[FAULTS_COUNT]; /* what lasts and was told */
	struct dialect_setup setup;  /* the options', with the address that was asked */
	bool repeating;              /* it was asked for readings without end */
	size_t asked_length;
	unsigned char asked[64]; /* what is left of what came from the computer */
};

struct press {
	struct options options;
	struct player player;
	struct random random;
	struct control control;
	struct cell cells[OPTIONS_LINKS_MAX];
	int64_t origin_ns;     /* on the monotonic clock */
	int64_t now_ns;        /* of the line being written, since origin */
	int64_t begin_ns;      /* of the latest curve; INT64_MAX: none has begun */
	double cell_newton;    /* what the cell being served carries now */
	double highest_newton; /* of the curve being played, as the first cell told it ... */
	char highest[DIALECT_LINE_MAX + 1]; /* ... with these digits */
};

static volatile sig_atomic_t stopped;

static void stop(int number)
{
	(void)number;
	stopped = 1;
}

static int64_t monotonic_ns(void)
{
	struct timespec now;
	clock_gettime(CLOCK_MONOTONIC, &now);
	return now.tv_sec * CLOCKS_NS_PER_S + now.tv_nsec;
}

static void must(bool done, const struct message *why)
{
	if (done)
		return;
	fprintf(stderr, "rampsim: %s\n", why->text);
	exit(2);
}

static void announce_link(const struct cell *cell)
{
	printf("rampsim: link %s -> %s\n", cell->link, cell->pty.slave);
}

static void replug(struct cell *cell)
{
	struct message why;
	must(pty_replug(&cell->pty, &why), &why);
	announce_link(cell);
}

/* Remembers the highest line of a curve without its white space, as text: what a test may expect.
 */
static void note_highest(struct press *press)
{
	char line[DIALECT_LINE_MAX];
	if (press->cell_newton <= press->highest_newton)
		return;
	press->highest_newton = press->cell_newton;
	size_t length =
		dialect_find("plain")->write(&press->options.line, press->cell_newton, line);
	while (length > 0 && isspace((unsigned char)line[length - 1]))
		length--;
	size_t blank = strspn(line, " ");
	snprintf(
		press->highest, sizeof press->highest, "%.*s", (int)(length - blank), line + blank);
}

/* Says what begins to last, and what has ended. */
static void announce_faults(struct cell *cell)
{
	for (int kind = 0; kind < FAULTS_COUNT; kind++) {
		bool standing = cell->wire.faults.in_force[kind];
		if (!faults_lasts((enum faults_kind)kind) || standing == cell->standing[kind])
			continue;
		cell->standing[kind] = standing;
		printf("rampsim: %s: %s %s\n", cell->link, faults_name((enum faults_kind)kind),
			standing ? "begins" : "ends");
	}
}

/* What befalls the port. False: it is not there. */
static bool serve_port(struct cell *cell)
{
	const bool *in_force = cell->wire.faults.in_force;
	if (in_force[FAULTS_UNPLUG])
		pty_unplug(&cell->pty);
	else if (cell->pty.master < 0)
		replug(cell);
	if (cell->pty.master < 0)
		return false;
	if (!in_force[FAULTS_LOCK]) {
		pty_unlock(&cell->pty);
	} else if (!pty_lock(&cell->pty)) {
		printf("rampsim: %s cannot be locked: somebody else holds it\n", cell->link);
		cell->wire.faults.until_ns[FAULTS_LOCK] = INT64_MIN;
	}
	return true;
}

/* The reading of now, as the faults in force make it. */
static void send_reading(struct press *press, struct cell *cell)
{
	static char bytes[WIRE_OUT_MAX];
	struct wire *wire = &cell->wire;
	size_t length = wire_write(wire, &press->random, press->cell_newton, bytes);
	if (cell == press->cells && wire->line_length > 0)
		note_highest(press);
	if (!wire->faults.in_force[FAULTS_BYTES] || length == 0) {
		pty_write(&cell->pty, bytes, length);
		return;
	}
	double line_ns = (double)CLOCKS_NS_PER_S / press->options.player.line_hz;
	int64_t apart_ns = (int64_t)(line_ns / 2 / (double)length);
	pty_trickle(&cell->pty, bytes, length, apart_ns < TRICKLE_NS ? apart_ns : TRICKLE_NS);
}

static void serve_cell(struct press *press, struct cell *cell)
{
	struct wire *wire = &cell->wire;
	bool begun = press->begin_ns != INT64_MAX;
	faults_step(&wire->faults, &press->random, press->now_ns,
		begun ? press->now_ns - press->begin_ns : -1);
	announce_faults(cell);
	if (wire->faults.in_force[FAULTS_REBOOT])
		cell->repeating = false;
	if (serve_port(cell) && (!press->options.dialect->read || cell->repeating))
		send_reading(press, cell);
}

/* ---- instruments that are asked */

static void answer(struct press *press, struct cell *cell, const struct dialect_request *request)
{
	bool silent = cell->wire.faults.in_force[FAULTS_SILENCE];
	if (request->asked == DIALECT_NOTHING || request->address < 1 ||
		(size_t)request->address > press->options.slave_count)
		return;
	cell->repeating = request->asked == DIALECT_REPEATED;
	cell->setup.address = request->address;
	if (request->asked != DIALECT_OTHER)
		send_reading(press, cell);
	else if (!silent)
		pty_write(&cell->pty, request->reply, request->reply_length);
}

static void take_requests(struct press *press, struct cell *cell)
{
	struct dialect_request request;
	size_t room = sizeof cell->asked - cell->asked_length;
	cell->asked_length += pty_read(&cell->pty, cell->asked + cell->asked_length, room);
	while (cell->asked_length > 0) {
		press->options.dialect->read(cell->asked, cell->asked_length, &request);
		if (request.used == 0)
			break;
		cell->asked_length -= request.used;
		memmove(cell->asked, cell->asked + request.used, cell->asked_length);
		answer(press, cell, &request);
	}
	if (cell->asked_length == sizeof cell->asked) /* whatever that is, it is no request */
		cell->asked_length = 0;
}

/* The links that somebody can ask through; which ones is put beside them. */
static nfds_t watch_links(struct press *press, struct pollfd *inputs, struct cell **cells)
{
	nfds_t count = 0;
	for (size_t i = 0; press->options.dialect->read && i < press->options.link_count; i++) {
		if (!pty_has_reader(&press->cells[i].pty))
			continue;
		cells[count] = &press->cells[i];
		inputs[count++] =
			(struct pollfd){.fd = press->cells[i].pty.master, .events = POLLIN};
	}
	return count;
}

/* A command befalls all cells. */
static void command_cell(struct cell *cell, const char *word)
{
	enum faults_kind fault = faults_find(word);
	if (strcmp(word, "mend") == 0)
		faults_mend(&cell->wire.faults);
	else if (fault != FAULTS_NONE)
		faults_begin(&cell->wire.faults, fault);
	else
		fprintf(stderr, "rampsim: '%s' is no command; see --start-on in --help\n", word);
}

static void hold_load(struct press *press, const char *typed)
{
	struct decimal load_kn;
	if (!decimal_parse(typed, strlen(typed), &load_kn)) {
		fprintf(stderr, "rampsim: '%s' is no load in kN to be held\n", typed);
		return;
	}
	player_hold(&press->player, decimal_double(load_kn) * 1000);
	printf("rampsim: holds %s kN\n", typed);
}

static void take_command(void *context, const char *word)
{
	static const char hold[] = "hold ";
	struct press *press = context;
	if (strcmp(word, press->options.start_word) == 0) {
		player_start(&press->player);
		return;
	}
	if (strncmp(word, hold, sizeof hold - 1) == 0) {
		hold_load(press, word + sizeof hold - 1);
		return;
	}
	for (size_t i = 0; i < press->options.link_count; i++)
		command_cell(&press->cells[i], word);
}

/* Waits until due_ns on the monotonic clock, serving commands. False: it is time to end. */
static bool wait_until(struct press *press, int64_t due_ns)
{
	while (!stopped) {
		int64_t left_ns = due_ns - monotonic_ns();
		struct timespec left = {left_ns / CLOCKS_NS_PER_S, left_ns % CLOCKS_NS_PER_S};
		struct pollfd inputs[1 + OPTIONS_LINKS_MAX];
		struct cell *cells[OPTIONS_LINKS_MAX];
		nfds_t count = watch_links(press, inputs + 1, cells);
		inputs[0] = (struct pollfd){.fd = press->control.fd, .events = POLLIN};
		if (left_ns <= 0)
			left = (struct timespec){0};
		int ready = ppoll(inputs, 1 + count, &left, NULL);
		if (ready == 0)
			return true;
		for (nfds_t i = 0; ready > 0 && i < count; i++)
			if (inputs[1 + i].revents & POLLIN)
				take_requests(press, cells[i]);
		if (ready > 0 && inputs[0].revents != 0 &&
			!control_read(&press->control, take_command, press))
			return false;
	}
	return false;
}

static bool wait_for_readers(const struct press *press)
{
	size_t open = 0;
	while (!stopped && open < press->options.link_count) {
		poll(NULL, 0, READER_POLL_MS);
		open = 0;
		for (size_t i = 0; i < press->options.link_count; i++)
			open += pty_has_reader(&press->cells[i].pty);
	}
	return !stopped;
}

static void announce_begin(struct press *press, const struct player_tick *tick)
{
	if (!tick->begins)
		return;
	press->begin_ns = tick->time_ns;
	press->highest_newton = -INFINITY;
	press->highest[0] = '\0';
	printf("rampsim: curve %zu %s begins\n", tick->piece + 1,
		press->options.pieces[tick->piece].name);
}

static void announce_end(const struct press *press, const struct player_tick *tick)
{
	if (tick->ends)
		printf("rampsim: curve %zu %s ends, highest line %s\n", tick->piece + 1,
			press->options.pieces[tick->piece].name, press->highest);
}

static void play(struct press *press)
{
	bool more = true;
	press->begin_ns = INT64_MAX;
	press->origin_ns = monotonic_ns();
	while (more) {
		struct player_tick tick;
		if (!wait_until(press, press->origin_ns + press->player.next_ns))
			return;
		more = player_next(&press->player, &press->random, &tick);
		press->now_ns = tick.time_ns;
		announce_begin(press, &tick);
		for (size_t i = 0; i < press->options.link_count; i++) {
			press->cell_newton = tick.load_newton * press->options.shares[i] /
					     (double)press->options.slave_count;
			serve_cell(press, &press->cells[i]);
		}
		announce_end(press, &tick);
	}
}

static void finish(struct press *press)
{
	for (size_t i = 0; i < press->options.link_count; i++) {
		struct pty *pty = &press->cells[i].pty;
		if (pty->refused_count > 0)
			printf("rampsim: %s: %llu lines lost, the reader was too slow\n", pty->link,
				(unsigned long long)pty->refused_count);
		pty_unplug(pty);
	}
	options_finish(&press->options);
}

static void catch_signals(void)
{
	struct sigaction action = {.sa_handler = stop};
	sigaction(SIGTERM, &action, NULL);
	sigaction(SIGINT, &action, NULL);
	sigaction(SIGHUP, &action, NULL);
}

static void start_cell(struct press *press, size_t i)
{
	const struct options *options = &press->options;
	struct cell *cell = &press->cells[i];
	struct message why;
	cell->link = options->links[i];
	cell->setup = options->line;
	wire_init(&cell->wire, options->dialect, &cell->setup, options->player.line_hz,
		&options->faults);
	must(pty_plug(&cell->pty, cell->link, &why), &why);
	announce_link(cell);
}

int main(int argc, char **argv)
{
	static struct press press;
	options_parse(&press.options, argc, argv);
	setvbuf(stdout, NULL, _IOLBF, 0);
	catch_signals();
	random_init(&press.random, press.options.seed);
	player_init(&press.player, &press.options.player);
	control_init(&press.control, press.options.start_word != NULL ? STDIN_FILENO : -1);
	for (size_t i = 0; i < press.options.link_count; i++)
		start_cell(&press, i);
	if (!press.options.wait_for_reader || wait_for_readers(&press))
		play(&press);
	finish(&press);
	return 0;
}
