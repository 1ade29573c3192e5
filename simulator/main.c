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

struct cell {
	struct pty pty;
	const char *link;
	int64_t silent_until_ns; /* INT64_MAX: until told to speak */
	int64_t absent_until_ns; /* while unplugged; INT64_MAX: until told to plug */
};

struct press {
	struct options options;
	struct player player;
	struct random random;
	struct control control;
	struct cell cells[OPTIONS_LINKS_MAX];
	int64_t origin_ns;     /* on the monotonic clock */
	int64_t now_ns;        /* of the line being written, since origin */
	double cell_newton;    /* what each cell carries now */
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

static void plug(struct cell *cell)
{
	struct message why;
	if (cell->pty.master >= 0)
		return;
	if (!pty_plug(&cell->pty, cell->link, &why)) {
		fprintf(stderr, "rampsim: %s\n", why.text);
		exit(2);
	}
	printf("rampsim: link %s -> %s\n", cell->link, cell->pty.slave);
}

static void unplug(struct cell *cell, int64_t until_ns)
{
	if (cell->pty.master < 0)
		return;
	pty_unplug(&cell->pty);
	cell->absent_until_ns = until_ns;
	printf("rampsim: %s unplugged\n", cell->link);
}

static int64_t later_ns(const struct press *press, double seconds)
{
	return press->now_ns + (int64_t)(seconds * (double)CLOCKS_NS_PER_S);
}

static void write_garbage(struct press *press, struct cell *cell)
{
	char bytes[24];
	for (size_t i = 0; i < sizeof bytes; i++)
		bytes[i] = (char)(random_bits(&press->random) >> 56);
	pty_write(&cell->pty, bytes, sizeof bytes);
}

/* Remembers the highest line of a curve without its white space: what a test may expect. */
static void note_highest(struct press *press, const char *line, size_t length)
{
	if (press->cell_newton <= press->highest_newton)
		return;
	press->highest_newton = press->cell_newton;
	while (length > 0 && isspace((unsigned char)line[length - 1]))
		length--;
	size_t blank = strspn(line, " ");
	snprintf(
		press->highest, sizeof press->highest, "%.*s", (int)(length - blank), line + blank);
}

/* Writes one line to one cell, or what a fault makes of it. */
static void write_line(struct press *press, struct cell *cell, enum faults_kind fault)
{
	const struct options *options = &press->options;
	char line[DIALECT_LINE_MAX];
	double load_newton = press->cell_newton;
	if (fault == FAULTS_SPIKE)
		load_newton += options->spike_newton;
	size_t length = options->dialect->write(&options->line, load_newton, line);
	switch (fault) {
	case FAULTS_NONE:
		if (cell == press->cells)
			note_highest(press, line, length);
		pty_write(&cell->pty, line, length);
		break;
	case FAULTS_SPIKE:
		pty_write(&cell->pty, line, length);
		break;
	case FAULTS_HALF:
		pty_write(&cell->pty, line, length / 2);
		break;
	case FAULTS_GARBAGE:
		write_garbage(press, cell);
		break;
	case FAULTS_DROP:
		break;
	case FAULTS_SILENCE:
		cell->silent_until_ns = later_ns(press, options->silence_s);
		printf("rampsim: %s silent\n", cell->link);
		break;
	case FAULTS_UNPLUG:
		unplug(cell, later_ns(press, options->unplug_s));
		break;
	}
}

static void serve_cell(struct press *press, struct cell *cell)
{
	enum faults_kind fault = faults_draw(&press->options.faults, &press->random);
	if (cell->pty.master < 0 && press->now_ns >= cell->absent_until_ns)
		plug(cell);
	if (cell->pty.master < 0 || press->now_ns < cell->silent_until_ns)
		return;
	write_line(press, cell, fault);
}

/* A command befalls all cells. */
static void command_cell(struct press *press, struct cell *cell, const char *word)
{
	enum faults_kind fault = faults_find(word, strlen(word));
	if (strcmp(word, "plug") == 0)
		plug(cell);
	else if (strcmp(word, "speak") == 0)
		cell->silent_until_ns = 0;
	else if (fault == FAULTS_UNPLUG)
		unplug(cell, INT64_MAX);
	else if (fault == FAULTS_SILENCE)
		cell->silent_until_ns = INT64_MAX;
	else if (fault != FAULTS_NONE)
		write_line(press, cell, fault);
	else
		fprintf(stderr, "rampsim: '%s' is no command; see --start-on in --help\n", word);
}

static void take_command(void *context, const char *word)
{
	struct press *press = context;
	if (strcmp(word, press->options.start_word) == 0) {
		player_start(&press->player);
		return;
	}
	for (size_t i = 0; i < press->options.link_count; i++)
		command_cell(press, &press->cells[i], word);
}

/* Waits until due_ns on the monotonic clock, serving commands. False: it is time to end. */
static bool wait_until(struct press *press, int64_t due_ns)
{
	while (!stopped) {
		int64_t left_ns = due_ns - monotonic_ns();
		struct timespec left = {left_ns / CLOCKS_NS_PER_S, left_ns % CLOCKS_NS_PER_S};
		struct pollfd input = {.fd = press->control.fd, .events = POLLIN};
		if (left_ns <= 0)
			left = (struct timespec){0};
		int ready = ppoll(&input, 1, &left, NULL);
		if (ready > 0 && !control_read(&press->control, take_command, press))
			return false;
		if (ready == 0)
			return true;
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
	press->origin_ns = monotonic_ns();
	while (more) {
		struct player_tick tick;
		if (!wait_until(press, press->origin_ns + press->player.next_ns))
			return;
		more = player_next(&press->player, &press->random, &tick);
		press->now_ns = tick.time_ns;
		press->cell_newton = tick.load_newton / (double)press->options.link_count;
		announce_begin(press, &tick);
		for (size_t i = 0; i < press->options.link_count; i++)
			serve_cell(press, &press->cells[i]);
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

int main(int argc, char **argv)
{
	static struct press press;
	options_parse(&press.options, argc, argv);
	setvbuf(stdout, NULL, _IOLBF, 0);
	catch_signals();
	random_init(&press.random, press.options.seed);
	player_init(&press.player, &press.options.player);
	control_init(&press.control, press.options.start_word != NULL ? STDIN_FILENO : -1);
	for (size_t i = 0; i < press.options.link_count; i++) {
		press.cells[i] = (struct cell){.pty.master = -1, .link = press.options.links[i]};
		plug(&press.cells[i]);
	}
	if (!press.options.wait_for_reader || wait_for_readers(&press))
		play(&press);
	finish(&press);
	return 0;
}
