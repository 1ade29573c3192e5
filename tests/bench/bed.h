/* SPDX-License-Identifier: MIT
 *
 * A test bed for a running program: terminals that it reads, a feeder that keeps time, clients that
 * read what it publishes. Feeder and clients are one process, so the time at which a line was
 * written is known when its sample comes out: the load is the line's number.
 *
 * One at a time. What cannot be set up ends the process with a message.
 */
#ifndef TESTS_BENCH_BED_H
#define TESTS_BENCH_BED_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

enum { BED_CHANNELS_MAX = 32, BED_CLIENTS_MAX = 17, BED_LINES_MAX = 400000 };

enum bed_program {
	BED_DAEMON,
	BED_UNSTORED, /* the daemon, with contact beyond any load: nothing is recorded */
	BED_FLOOR,    /* one channel */
};

struct bed {
	enum bed_program program;
	char folder[64];
	size_t channel_count;
	int masters[BED_CHANNELS_MAX];
	pid_t child;                /* what was spawned: the program or its wrapper */
	pid_t process;              /* the program */
	double accept_ms, first_ms; /* from the spawn to the accepted client, to its first sample */
	size_t client_count;
	int clients[BED_CLIENTS_MAX];
	uint32_t number;     /* of the last line */
	uint32_t awaited;    /* how many had gone out when the first one came back */
	uint64_t full_count; /* lines that a full terminal did not take at once */
};

/* Starts the program on so many terminals; wrapper: words before its own, ended by NULL, or NULL.
 * Returns when a first client is connected and gets samples of every terminal's press. */
void bed_start(struct bed *bed, enum bed_program program, size_t channel_count,
	const char *const *wrapper);
/* Connects so many more clients; stuck: they ask and never read. */
void bed_connect(struct bed *bed, size_t count, bool stuck);
/* Sends so many lines to every terminal, hz a second (0: as fast as they are taken), and waits
 * until the last is published. False: it never was. */
bool bed_feed(struct bed *bed, uint32_t count, double hz);
/* Unloads every terminal's press, hz lines a second, until its run is over; the lines count from 1
 * again. */
void bed_release(struct bed *bed, double hz);
/* The quantile q of the first client's latencies in the last bed_feed, in us. */
double bed_latency_us(double q);
/* Seconds that the last bed_feed took from its first line to its last sample. */
double bed_feed_s(void);

double bed_cpu_ns(const struct bed *bed);
/* Of the program, in KiB; name as in smaps_rollup: "Rss", "Pss". */
long bed_memory_kib(const struct bed *bed, const char *name);
/* How often its threads have gone to sleep and were woken. */
long bed_wakeups(const struct bed *bed);

/* Ends the program. Lines sent to channel 0 since the run began that are not in the database, or
 * not in order (the daemon alone); -1: there is no run. */
void bed_stop(struct bed *bed);
long bed_lost(const struct bed *bed, size_t channel);
void bed_remove(struct bed *bed);

#endif
