/* SPDX-License-Identifier: MIT
 *
 * The daemon's way from a reading to the disk, whole and in one process: presses, writer, recovery,
 * on the simulated disk of the store's tests. What is left out is what brings the readings (ports)
 * and who hears of it (the socket).
 *
 * Time is the test's: it stands still but for life_tick. The writer's thread and the test take
 * turns, so that the same life makes the same calls of the disk, whatever the machine does
 * meanwhile. Needs the linker's --wrap of uv_hrtime, uv_cond_wait, uv_cond_timedwait, store_reopen.
 */
#ifndef TESTS_UNIT_DAEMON_LIFE_H
#define TESTS_UNIT_DAEMON_LIFE_H

#include "daemon.h"

enum { LIFE_PRESSES = 3, LIFE_RUNS_MAX = 64, LIFE_WHOLE_TICKS = 300 };

/* A press sends this often. */
#define LIFE_TICK_NS (50 * CLOCKS_NS_PER_MS)

/* So long a specimen bears. */
#define LIFE_RAMP_NS (3 * CLOCKS_NS_PER_S)

/* A run whose end was said to be stored, and how many readings its press had then put into it. */
struct life_closed {
	int64_t run, reading_count;
};

struct life {
	char folder[64];
	char database[96];
	struct config *config;
	struct daemon daemon;
	uv_async_t turned; /* the thread waits */
	bool going;
	size_t ring_size;
	int64_t ramp_ns;
	bool unsynced; /* synchronous = OFF */
	bool stuck;    /* the thread does not come back from the disk */
	/* what the loop was told */
	bool durable;
	int outages;
	struct mono_time stored[LIFE_PRESSES]; /* 0: nothing yet */
	struct life_closed closed[LIFE_RUNS_MAX];
	size_t closed_count, opened;
	int refused; /* notes */
	/* what it was not told */
	bool quiet; /* an outage of which nobody was told */
	/* what its presses did */
	bool unloaded; /* nothing from now on */
	size_t loadings;
	int64_t loads[LIFE_PRESSES];
};

/* There is one at a time. */
extern struct life life;

/* For cmocka's group: a folder with a database that has a key and nothing else. */
int life_setup(void **state);
int life_teardown(void **state);
/* That database again, as it was. Of the disk everything is forgotten. */
void life_renew(void);

/* Comes up as the daemon does. False: it does not start, and why. */
bool life_begin(struct message *why);
/* Goes down as the daemon does, whether it came up or not. */
void life_end(void);

/* So much time passes, without a reading. Not while it goes on. */
void life_pass(int64_t time_ns);
/* A tick: every cell sends a reading, and the writer does what is to be done then. */
void life_tick(void);
void life_ticks(size_t count);
/* Whether the writer waits for the disk. */
bool life_is_refused(void);
/* A specimen is registered and seated at the first press, as a client asks for it. */
void life_ask(const char *id);
/* Readings for which there was no room. */
uint64_t life_lost(void);
/* The run that goes on at that press; 0: none. */
int64_t life_run(size_t press);

/* What another program reads in the database now: every reading that was said to be stored is
 * there, none twice, none left out; every run that was said to be closed is, with as many readings
 * as it had. holes: how many may be in the readings, where runs were taken up again. NULL, or what
 * is wrong. */
const char *life_missing(size_t holes);
/* How many runs have no end. */
size_t life_unclosed(void);
/* The audit of it, after the life: NULL, or what it finds. whole: of the tables' definitions too,
 * which takes longer than all else. */
const char *life_finding(bool whole);
/* Sums over the table loss. */
void life_losses(int64_t *reading_count, int64_t *loading_count);

#endif
